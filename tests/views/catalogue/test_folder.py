"""The folder is written whole or not at all, and nothing of anybody else's is lost."""

from __future__ import annotations

import json
from collections.abc import Iterator
from pathlib import Path

import pytest

from synth.errors import InputError
from synth.views.catalogue.folder import write_folder

MARKER = "catalogue.json"
NOTE = json.dumps({"format": "gatefit-catalogue", "contents": [MARKER, "a.txt", "in"]})
OLD = [("a.txt", "old"), (MARKER, NOTE)]
NEW = [("in/b.txt", "ä"), (MARKER, NOTE)]


def contents(path: Path) -> dict[str, str]:
    return {
        str(file.relative_to(path)): file.read_text(encoding="utf-8")
        for file in path.rglob("*")
        if file.is_file()
    }


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
        ({"letter.txt": "mine"}, "is no catalogue"),
        ({MARKER: "{}", "a.txt": ""}, "is no catalogue"),
        ({MARKER: "no JSON"}, "is no catalogue"),
        ({MARKER: "[]"}, "is no catalogue"),
        ({MARKER: '{"format": "gatefit-catalogue", "contents": 3}'}, "is no catalogue"),
        ({MARKER: NOTE, "letter.txt": "mine"}, "'letter.txt'"),
        ({MARKER: NOTE, ".git/config": "mine"}, "'.git'"),
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
    assert contents(target) == files


def test_a_file_and_a_missing_parent_are_refused(tmp_path: Path) -> None:
    (tmp_path / "site").write_text("mine", encoding="utf-8")
    with pytest.raises(InputError, match="is a file"):
        write_folder(tmp_path / "site", NEW, marker=MARKER)
    assert (tmp_path / "site").read_text(encoding="utf-8") == "mine"
    with pytest.raises(InputError, match="no folder to put it in"):
        write_folder(tmp_path / "no" / "site", NEW, marker=MARKER)
