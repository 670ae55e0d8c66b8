"""Stores of other versions, and files that are no stores."""

from __future__ import annotations

import os
import sqlite3
from pathlib import Path

import pytest

from synth.errors import InputError
from synth.library import Store, schema
from synth.library.beyond import Beyond
from synth.questions.box import BoxQuestion
from synth.questions.problem import Problem
from tests.library.answers import VOLUME, found, question, solved

VERSION_1 = Path(__file__).with_name("version_1.sql").read_text(encoding="utf-8")
VERSION_2 = Path(__file__).with_name("version_2.sql").read_text(encoding="utf-8")


@pytest.fixture
def oldest(tmp_path: Path) -> Path:
    """A store as the first version wrote it."""
    path = tmp_path / "oldest.sqlite"
    connection = sqlite3.connect(path)
    connection.executescript(VERSION_1)
    connection.close()
    return path


def dump(path: Path) -> list[str]:
    connection = sqlite3.connect(path)
    lines = list(connection.iterdump())
    connection.close()
    return lines


def version(path: Path) -> int:
    connection = sqlite3.connect(path)
    ((number,),) = connection.execute("PRAGMA user_version").fetchall()
    connection.close()
    return int(number)


def test_the_first_version_is_read_whole(oldest: Path) -> None:
    """Its answers serve as if they had been found today."""
    with Store(oldest) as store:
        spec = solved()[0]
        again = store.recall(Problem(spec, VOLUME))
        assert again is not None
        assert again.verdict is not None
        assert again.verdict.passes
        assert again.claim == store.claim(1)
        assert again.claim.startswith("smallest by volume 6, under length at most 3")
        assert "by cadical195 (no proof kept)" in again.claim
        statuses = {entry.number: entry.status for entry in store.entries()}
        assert statuses == {1: "found", 2: "impossible", 3: "undecided"}
        assert store.entry(1).name == "and with one not"
        assert store.entry(3).bound == 3
        (no,) = store.ruled_out(question())
        assert no.question == BoxQuestion((2, 1, 2), 2)
    assert version(oldest) == schema.VERSION


def test_the_second_version_is_read_whole(tmp_path: Path) -> None:
    """With notes and tags, and nothing beyond the limits of any question."""
    path = tmp_path / "second.sqlite"
    connection = sqlite3.connect(path)
    connection.executescript(VERSION_2)
    connection.close()
    assert version(path) == 2
    with Store(path) as store:
        statuses = {entry.number: entry.status for entry in store.entries()}
        assert statuses == {1: "found", 2: "impossible", 3: "undecided"}
        assert (store.note(1), store.tags(1)) == ("seen on a bench", ("mine", "small"))
        assert [entry.beyond for entry in store.entries()] == [None] * 3
        assert store.beyond(3) == Beyond()
    assert version(path) == schema.VERSION


def test_an_old_store_becomes_like_a_new_one(oldest: Path, tmp_path: Path) -> None:
    Store(oldest).close()
    Store(tmp_path / "new.sqlite").close()

    def tables(path: Path) -> set[str]:
        return {" ".join(line.split()) for line in dump(path) if line.startswith("CREATE")}

    assert tables(oldest) == tables(tmp_path / "new.sqlite")


def test_a_migration_that_fails_leaves_the_old_store(
    oldest: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    Store(oldest).close()
    before = dump(oldest)
    broken = ("ALTER TABLE results ADD COLUMN more TEXT", "INSERT INTO nothing VALUES (1)")
    monkeypatch.setattr(schema, "MIGRATIONS", (*schema.MIGRATIONS, broken))
    monkeypatch.setattr(schema, "VERSION", schema.VERSION + 1)
    with pytest.raises(InputError, match="nothing"):
        Store(oldest)
    assert dump(oldest) == before
    assert version(oldest) == schema.VERSION - 1


def test_a_migration_is_done_once(oldest: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    Store(oldest).close()
    count = len(schema.MIGRATIONS)
    more = ("ALTER TABLE results ADD COLUMN more TEXT DEFAULT 'x'",)
    monkeypatch.setattr(schema, "MIGRATIONS", (*schema.MIGRATIONS, more))
    monkeypatch.setattr(schema, "VERSION", count + 1)
    for _ in range(2):
        with Store(oldest) as store:
            assert store.count() == 3
            assert store.keep_answer(question(delay=5), found(7)) is (store.count() == 4)
            store.connection.execute("DELETE FROM results WHERE number = 4")
    assert version(oldest) == count + 1


def test_a_store_of_a_later_version_is_refused_and_left_alone(oldest: Path) -> None:
    Store(oldest).close()
    connection = sqlite3.connect(oldest)
    connection.execute("PRAGMA user_version = 99")
    connection.close()
    data = oldest.read_bytes()
    with pytest.raises(InputError, match=r"version 99.*use a newer gatefit, or another store"):
        Store(oldest)
    with pytest.raises(InputError, match="version 99"):
        Store.copy_of(oldest)
    assert oldest.read_bytes() == data


def no_stores(folder: Path) -> dict[str, Path]:
    files = {
        "text": folder / "notes.txt",
        "short": folder / "short.txt",
        "database": folder / "other.sqlite",
    }
    files["text"].write_text("a store of apples\n" * 100)
    files["short"].write_text("x")
    connection = sqlite3.connect(files["database"])
    connection.execute("CREATE TABLE apples (weight)")
    connection.commit()
    connection.close()
    return files


@pytest.mark.parametrize("kind", ["text", "short", "database"])
def test_a_file_that_is_no_store_is_refused_and_left_alone(tmp_path: Path, kind: str) -> None:
    path = no_stores(tmp_path)[kind]
    data = path.read_bytes()
    for opening in (Store, Store.copy_of):
        with pytest.raises(InputError, match="this is no store of gatefit") as raised:
            opening(path)
        assert raised.value.file == str(path)
    assert path.read_bytes() == data


def test_a_damaged_store_is_said_to_be_damaged(oldest: Path) -> None:
    Store(oldest).close()
    data = oldest.read_bytes()
    oldest.write_bytes(data[: len(data) // 2])
    with pytest.raises(InputError, match="the file is damaged"):
        list(Store(oldest).entries())


def test_no_store_where_none_shall_be_made(tmp_path: Path) -> None:
    path = tmp_path / "none.sqlite"
    with pytest.raises(InputError, match="no such store"):
        Store(path, create=False)
    with pytest.raises(InputError, match="no such store"):
        Store.copy_of(path)
    assert not path.exists()


def test_a_folder_that_is_not_there(tmp_path: Path) -> None:
    with pytest.raises(InputError, match="unable to open"):
        Store(tmp_path / "no" / "store.sqlite")


@pytest.mark.skipif(os.geteuid() == 0, reason="root may write everywhere")
def test_a_store_that_may_only_be_read_is_read(oldest: Path) -> None:
    Store(oldest).close()
    oldest.chmod(0o444)
    with Store(oldest, create=False) as store:
        assert store.count() == 3
        with pytest.raises(InputError, match="it may not be written to"):
            store.keep_answer(question(delay=5), found(7))


def test_an_old_store_that_may_not_be_written_to_is_read_as_it_is(
    oldest: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    data = oldest.read_bytes()
    monkeypatch.setattr(os, "access", lambda path, mode: False)
    with Store.for_reading(oldest) as store:
        assert store.path == oldest
        assert store.count() == 3
        assert store.tags(1) == ()
    assert oldest.read_bytes() == data
    monkeypatch.undo()
    with Store.for_reading(oldest) as store:
        assert store.count() == 3
    assert version(oldest) == schema.VERSION


def test_a_copy_in_memory_leaves_the_file_alone(oldest: Path) -> None:
    """Though it is brought up to date."""
    data = oldest.read_bytes()
    with Store.copy_of(oldest) as copy:
        assert copy.path == oldest
        copy.keep_answer(question(delay=5), found(7))
        assert copy.count() == 4
    assert oldest.read_bytes() == data


def test_a_store_at_rest_is_one_file(tmp_path: Path) -> None:
    with Store(tmp_path / "one.sqlite") as store:
        store.keep_answer(question(), found(6))
        assert [path.name for path in tmp_path.iterdir()] == ["one.sqlite"]


def test_a_write_cut_short_is_undone(tmp_path: Path) -> None:
    """The state on the disk amid a write, as a kill or a power cut leaves it."""
    path, cut = tmp_path / "one.sqlite", tmp_path / "cut" / "one.sqlite"
    cut.parent.mkdir()
    with Store(path) as store:
        store.keep_answer(question(), found(6))
        # So small a cache that pages go to the file before the end of the transaction.
        store.connection.execute("PRAGMA cache_size = 1")
        with store.writing():
            for delay in range(3, 60):
                store.keep_answer(question(delay=delay), found(6, claim="long " * 200))
            for file in (path, path.with_name("one.sqlite-journal")):
                cut.with_name(file.name).write_bytes(file.read_bytes())
    assert cut.stat().st_size > 8 * 4096
    with pytest.raises(InputError, match=r"stopped half way.*library list --store .* undoes it"):
        Store.copy_of(cut)
    with Store(cut) as store:
        assert store.count() == 1
        assert store.answer(question().key) == found(6)
    assert [file.name for file in cut.parent.iterdir()] == ["one.sqlite"]
    with Store.copy_of(cut) as copy:
        assert copy.count() == 1
