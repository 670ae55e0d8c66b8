"""The folder is written whole or not at all, and nothing of anybody else's is lost."""

from __future__ import annotations

import json
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from synth.errors import InputError
from synth.views.catalogue.folder import write_folder

MARKER = "catalogue.json"
NOTE = json.dumps({"format": "gatefit-catalogue", "gates": 3})
OLD = [("a.txt", "old"), (MARKER, NOTE)]
NEW = [("in/b.txt", "ä"), (MARKER, NOTE)]


def texts(path: Path) -> dict[str, str]:
    return {
        str(file.relative_to(path)): file.read_text(encoding="utf-8")
        for file in path.rglob("*")
        if file.is_file()
    }


def contents(path: Path) -> dict[str, str]:
    """Every file, the marker without its manifest."""
    found = texts(path)
    if "sha256" in found.get(MARKER, ""):
        document = json.loads(found[MARKER])
        del document["sha256"]
        found[MARKER] = json.dumps(document)
    return found


def failing() -> Iterator[tuple[str, str]]:
    yield "a.txt", "half"
    raise InputError("a layout is wrong")


def test_a_new_folder_takes_the_place_of_the_old_one(tmp_path: Path) -> None:
    target = tmp_path / "site"
    for files in (OLD, NEW):
        write_folder(target, files, marker=MARKER)
        assert contents(target) == dict(files)
    assert [path.name for path in tmp_path.iterdir()] == ["site"]


def test_an_empty_folder_is_taken(tmp_path: Path) -> None:
    write_folder(tmp_path / "site", OLD, marker=MARKER)
    (tmp_path / "empty").mkdir()
    write_folder(tmp_path / "empty", NEW, marker=MARKER)
    assert contents(tmp_path / "empty") == dict(NEW)


@pytest.mark.parametrize("before", [None, OLD], ids=["new", "old"])
def test_a_failure_leaves_all_as_it_was(
    tmp_path: Path, before: list[tuple[str, str]] | None
) -> None:
    target = tmp_path / "site"
    if before is not None:
        write_folder(target, before, marker=MARKER)
    with pytest.raises(InputError, match="a layout is wrong"):
        write_folder(target, failing(), marker=MARKER)
    assert [path.name for path in tmp_path.iterdir()] == (["site"] if before else [])
    if before is not None:
        assert contents(target) == dict(before)


def test_a_rename_that_fails_puts_the_old_one_back(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    target = tmp_path / "site"
    write_folder(target, OLD, marker=MARKER)
    rename = Path.rename

    def stubborn(self: Path, to: Path) -> Path:
        if self.suffix == ".tmp":
            raise OSError(28, "No space left on device")
        return rename(self, to)

    monkeypatch.setattr(Path, "rename", stubborn)
    with pytest.raises(InputError, match="No space left"):
        write_folder(target, NEW, marker=MARKER)
    assert contents(target) == dict(OLD)
    assert [path.name for path in tmp_path.iterdir()] == ["site"]


@pytest.mark.parametrize(
    ("files", "words"),
    [
        ({"letter.txt": "mine"}, "and no catalogue"),
        ({MARKER: "{}", "a.txt": ""}, "and no catalogue"),
        ({MARKER: "no JSON"}, "and no catalogue"),
        ({MARKER: "[]"}, "and no catalogue"),
        ({MARKER: NOTE, "a.txt": "old"}, "without a list of its files"),
        ({MARKER: NOTE[:-1] + ', "sha256": 3}'}, "without a list of its files"),
        ({MARKER: "[" * 100_000}, "and no catalogue"),
    ],
)
def test_what_is_not_ours_is_left_alone(tmp_path: Path, files: dict[str, str], words: str) -> None:
    target = tmp_path / "site"
    for name, text in files.items():
        (target / name).parent.mkdir(parents=True, exist_ok=True)
        (target / name).write_text(text, encoding="utf-8")
    with pytest.raises(InputError, match=words) as caught:
        write_folder(target, NEW, marker=MARKER)
    assert caught.value.way_out
    assert texts(target) == files


def add_file(site: Path) -> str:
    (site / "letter.txt").write_text("mine", encoding="utf-8")
    return "holds 'letter.txt', which is not part of the catalogue and would be lost"


def add_file_within(site: Path) -> str:
    (site / "in" / "letter.txt").write_text("mine", encoding="utf-8")
    return "holds 'in/letter.txt', which is not part"


def add_folder(site: Path) -> str:
    (site / "in" / "deep").mkdir()
    return "holds 'in/deep', which is not part"


def add_hidden_folder(site: Path) -> str:
    (site / ".git").mkdir()
    (site / ".git" / "config").write_text("mine", encoding="utf-8")
    return "holds '.git', which is not part"


def change_file(site: Path) -> str:
    (site / "in" / "b.txt").write_text("mine", encoding="utf-8")
    return "holds 'in/b.txt', which was changed since the catalogue was made and would be lost"


def change_marker(site: Path) -> str:
    text = (site / MARKER).read_text(encoding="utf-8").replace("3", "4", 1)
    (site / MARKER).write_text(text, encoding="utf-8")
    return f"holds '{MARKER}', which was changed"


def put_a_link_in_its_place(site: Path) -> str:
    """To a file of the same text: what it leads to is not ours."""
    (site / "in" / "b.txt").rename(site.parent / "kept.txt")
    (site / "in" / "b.txt").symlink_to(site.parent / "kept.txt")
    return "holds 'in/b.txt', which was changed"


def put_a_folder_in_its_place(site: Path) -> str:
    (site / "in" / "b.txt").unlink()
    (site / "in" / "b.txt").mkdir()
    return "holds 'in/b.txt', which is not part"


OF_THE_USER = [
    add_file,
    add_file_within,
    add_folder,
    add_hidden_folder,
    change_file,
    change_marker,
    put_a_link_in_its_place,
    put_a_folder_in_its_place,
]


@pytest.mark.parametrize("change", OF_THE_USER)
def test_what_the_user_put_into_it_is_never_lost(
    tmp_path: Path, change: Callable[[Path], str]
) -> None:
    site = tmp_path / "site"
    write_folder(site, NEW, marker=MARKER)
    said = change(site)
    before = texts(site)
    with pytest.raises(InputError) as caught:
        write_folder(site, OLD, marker=MARKER)
    assert said in caught.value.problem
    assert texts(site) == before
    assert not list(tmp_path.glob(".*"))


def test_what_comes_while_it_is_written_is_never_lost(tmp_path: Path) -> None:
    site = tmp_path / "site"
    write_folder(site, NEW, marker=MARKER)

    def files() -> Iterator[tuple[str, str]]:
        yield from OLD
        add_file_within(site)

    with pytest.raises(InputError, match="letter"):
        write_folder(site, files(), marker=MARKER)
    assert contents(site) == dict(NEW) | {"in/letter.txt": "mine"}


def test_what_the_user_took_out_is_written_again(tmp_path: Path) -> None:
    site = tmp_path / "site"
    write_folder(site, NEW, marker=MARKER)
    (site / "in" / "b.txt").unlink()
    write_folder(site, NEW, marker=MARKER)
    assert contents(site) == dict(NEW)


def test_a_file_and_a_missing_parent_are_refused(tmp_path: Path) -> None:
    (tmp_path / "site").write_text("mine", encoding="utf-8")
    with pytest.raises(InputError, match="is a file"):
        write_folder(tmp_path / "site", NEW, marker=MARKER)
    assert (tmp_path / "site").read_text(encoding="utf-8") == "mine"
    with pytest.raises(InputError, match="no folder to put it in"):
        write_folder(tmp_path / "no" / "site", NEW, marker=MARKER)
