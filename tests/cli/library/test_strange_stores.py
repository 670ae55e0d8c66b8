"""Stores that were damaged, or made by somebody who means harm: one clear line, never more."""

from __future__ import annotations

import os
import shutil
import sqlite3
from contextlib import closing
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings

from synth.library import Store
from synth.printable import is_printable
from tests.cli.conftest import Run
from tests.library.spoiling import SPOILS, Spoil, good_store, run

FUZZED = settings(
    max_examples=25,
    deadline=None,
    suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow],
)

COMMANDS = (
    ("list",),
    ("list", "--json"),
    ("show", "1"),
    ("show", "2", "--json"),
    ("verify", "--quiet"),
    ("find", "q = a & ~b"),
    ("export", "out"),
    ("site", "pages"),
    ("build", "gates.toml", "--time-limit", "1e-9", "--quiet"),
)

RECIPE = """
functions.tables = ["0010", "0110"]
[[asks]]
delays = [2]
length = 3
width = 2
height = 3
"""
"""Two questions, one of which the good store has answered."""


@pytest.fixture(scope="module")
def good(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return good_store(tmp_path_factory.mktemp("good") / "good.sqlite")


def require_one_line(ended: object, command: object) -> None:
    """An answer, or one line that names the store and the way out."""
    code, out, err = ended.code, ended.out, ended.err  # type: ignore[attr-defined]
    assert code in (0, 1, 2, 3), command
    assert "Traceback" not in err, command
    assert is_printable(out, lines=True), command
    assert is_printable(err, lines=True), command
    if code == 2:
        assert err.startswith("gatefit: "), command
        assert err.count("\n") == 1, command
        assert "sqlite: " in err, err
        assert "; " in err, err


@FUZZED
@given(spoils=SPOILS)
def test_a_store_that_was_changed_by_anything(
    gatefit: Run, good: Path, tmp_path: Path, spoils: list[Spoil]
) -> None:
    store, ours = tmp_path / "gatefit.sqlite", tmp_path / "ours.sqlite"
    data = tmp_path / "spoilt.sqlite"
    (tmp_path / "gates.toml").write_text(RECIPE, encoding="utf-8")
    shutil.copy(good, data)
    for spoil in spoils:
        spoil(data)
    for command in COMMANDS:
        shutil.copy(data, store)
        require_one_line(gatefit("library", *command), command)
    shutil.copy(data, store)
    shutil.copy(good, ours)
    require_one_line(
        gatefit("library", "merge", "gatefit.sqlite", "--store", "ours.sqlite"), "merge"
    )
    # Whatever came, what was ours is as good as before.
    ended = gatefit("library", "verify", "--store", "ours.sqlite", "--quiet")
    assert ended.code == 0, ended.out


# What verify sees, and merge refuses


ESCAPE = "\x1b[31mred\x07"

SPOILT = {
    "a name that is a blob": ("UPDATE results SET name = x'00ff' WHERE number = 1", "column name"),
    "a name with escapes": (
        f"UPDATE results SET name = '{ESCAPE}' WHERE number = 1",
        "column name",
    ),
    "a claim of a smaller one": (
        "UPDATE results SET claim = replace(claim, 'volume 6', 'volume 2') WHERE number = 1",
        "its claim says 'volume 2', and its layout has volume 6",
    ),
    "a claim under wider limits": (
        "UPDATE results SET claim = replace(claim, 'length at most 3', 'length at most 9')"
        " WHERE number = 1",
        "its claim says 'length at most 9', and 3 was asked",
    ),
    "a claim of another medium": (
        "UPDATE results SET claim = replace(claim, 'reach 15', 'reach 14') WHERE number = 1",
        "its claim is about another medium",
    ),
    "a claim of the contrary": (
        "UPDATE results SET claim = 'no layout under' || substr(claim, 9) WHERE number = 1",
        "no layout under",
    ),
    "a number in words": ("UPDATE results SET delay = 'two' WHERE number = 1", "column delay"),
    "a time before all": ("UPDATE results SET seconds = -1.5 WHERE number = 1", "column seconds"),
    "a day that is none": (
        "UPDATE results SET made = '2026-02-30' WHERE number = 1",
        "column made",
    ),
    "a size of none": ("UPDATE results SET width = 0 WHERE number = 1", "column width"),
    "a text that is no UTF-8": (
        "UPDATE results SET solver = CAST(x'c328' AS TEXT) WHERE number = 1",
        "column solver",
    ),
    "a note that is a blob": ("UPDATE notes SET note = x'01'", "table notes"),
    "a tag of two words": ("UPDATE tags SET tag = 'a b' WHERE tag = 'mine'", "table tags"),
    "deep JSON": (
        "UPDATE results SET asked = '" + "[" * 9000 + "' WHERE number = 1",
        "nested too deeply",
    ),
}


@pytest.mark.parametrize("spoilt", SPOILT)
def test_what_cannot_be_is_seen_and_not_taken_over(
    gatefit: Run, good: Path, tmp_path: Path, spoilt: str
) -> None:
    statement, said = SPOILT[spoilt]
    theirs = Path(shutil.copy(good, tmp_path / "gatefit.sqlite"))
    run(theirs, statement)
    ended = gatefit("library", "verify")
    assert (ended.code, ended.err) == (1, "")
    assert "WRONG, entry 1: " in ended.out
    assert said in ended.out
    assert is_printable(ended.out, lines=True)
    ended = gatefit("library", "merge", "gatefit.sqlite", "--store", "ours.sqlite")
    assert ended.code == 1
    assert "refused, entry 1 of gatefit.sqlite: " in ended.out
    assert is_printable(ended.out, lines=True)
    assert "2 entries now" in ended.out
    assert gatefit("library", "verify", "--store", "ours.sqlite").code == 0


def test_a_layout_in_a_box_that_has_none_is_seen_and_the_box_not_taken_over(
    gatefit: Run, good: Path, tmp_path: Path
) -> None:
    theirs = Path(shutil.copy(good, tmp_path / "gatefit.sqlite"))
    with Store(theirs) as store:
        entry, asked, _ = store.answered(1)
        assert entry.length
        row = (asked.box_key, entry.length, entry.width, entry.height, 9, -1)
        store.rule_out_rows([row])  # type: ignore[list-item]
    ended = gatefit("library", "verify")
    assert ended.code == 1
    assert "its layout lies in a box that the store rules out" in ended.out
    ended = gatefit("library", "merge", "gatefit.sqlite", "--store", "ours.sqlite")
    assert ended.code == 1
    assert "refused, the store of gatefit.sqlite: table ruled_out" in ended.out
    assert gatefit("library", "verify", "--store", "ours.sqlite").code == 0


def test_an_answer_that_the_boxes_kept_do_not_show_is_told(
    gatefit: Run, good: Path, tmp_path: Path
) -> None:
    """Found becomes impossible, and all else that is easily changed with it."""
    theirs = Path(shutil.copy(good, tmp_path / "gatefit.sqlite"))
    assert ", 1 that cannot be checked: nothing is wrong" in gatefit("library", "verify").out
    run(
        theirs,
        "UPDATE results SET status = 'impossible', proven = 1, bound = NULL WHERE number = 3",
    )
    ended = gatefit("library", "verify")
    told = "entry 3: too little is kept to check its answer: the store does not rule out"
    assert told in ended.out
    document = gatefit("library", "verify", "--json").document
    assert [finding["entry"] for finding in document["not_shown"]] == [3]


def test_text_of_a_store_is_cleaned_before_it_is_shown(
    gatefit: Run, good: Path, tmp_path: Path
) -> None:
    theirs = Path(shutil.copy(good, tmp_path / "gatefit.sqlite"))
    for column in ("name", "proof", "solver", "version"):
        run(theirs, f"UPDATE results SET {column} = ?", (f"{column} {ESCAPE}",))
    run(theirs, "UPDATE results SET claim = claim || ?", (ESCAPE,))
    run(theirs, "UPDATE notes SET note = ?", (ESCAPE,))
    for command in (("list",), ("show", "1"), ("find", "q = a & ~b"), ("export", "out")):
        ended = gatefit("library", *command)
        assert (ended.code, ended.err) == (0, ""), command
        assert is_printable(ended.out, lines=True), command
    assert "name \\x1b[31mred" in gatefit("library", "list").out
    assert gatefit("library", "site", "pages").code == 0
    for file in [*(tmp_path / "pages").rglob("*.html"), *(tmp_path / "out").iterdir()]:
        assert "\x1b" not in file.read_text(encoding="utf-8")
        assert "\x07" not in file.read_text(encoding="utf-8")


# SQL of somebody else's


@pytest.mark.parametrize(
    ("statements", "said"),
    [
        (["CREATE VIEW peek AS SELECT * FROM results"], "the view 'peek' is none of ours"),
        (
            ["CREATE TRIGGER t AFTER INSERT ON results BEGIN DELETE FROM layouts; END"],
            "the trigger 't' is none of ours",
        ),
        (
            [
                "ALTER TABLE results RENAME TO real",
                "CREATE VIEW results AS SELECT * FROM real",
            ],
            "is none of ours",
        ),
        (
            [
                "DROP TABLE notes",
                "CREATE TABLE notes (number INTEGER PRIMARY KEY,"
                " note TEXT GENERATED ALWAYS AS (hex(number)))",
            ],
            "the table 'notes' is another than ours",
        ),
        (["DROP TABLE tags"], "the table 'tags' is missing"),
    ],
)
def test_a_store_with_sql_of_its_own_is_refused_untouched(
    gatefit: Run, good: Path, tmp_path: Path, statements: list[str], said: str
) -> None:
    theirs = Path(shutil.copy(good, tmp_path / "gatefit.sqlite"))
    with closing(sqlite3.connect(theirs)) as connection:
        for statement in statements:
            connection.execute(statement)
    data = theirs.read_bytes()
    (tmp_path / "gates.toml").write_text(RECIPE, encoding="utf-8")
    for command in (*COMMANDS, ("merge", "gatefit.sqlite", "--store", "ours.sqlite")):
        ended = gatefit("library", *command)
        assert ended.code == 2, command
        assert "the store has other tables than gatefit makes: " in ended.err, command
        assert said in ended.err, command
    assert theirs.read_bytes() == data
    assert not (tmp_path / "ours.sqlite").exists()


def test_words_that_are_no_utf8_are_refused(gatefit: Run, good: Path, tmp_path: Path) -> None:
    """As a terminal of another encoding gives them."""
    shutil.copy(good, tmp_path / "gatefit.sqlite")
    for option in ("--text", "--tag"):
        ended = gatefit("library", "list", option, "caf\udce9")
        assert ended.code == 2
        assert "caf\\udce9" in ended.err


def test_a_pipe_is_not_waited_for(gatefit: Run, tmp_path: Path) -> None:
    os.mkfifo(tmp_path / "gatefit.sqlite")
    for command in (("list",), ("merge", "gatefit.sqlite", "--store", "ours.sqlite")):
        ended = gatefit("library", *command)
        assert ended.code == 2
        assert "gatefit.sqlite: is no file; name a file" in ended.err
