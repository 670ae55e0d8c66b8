"""A good small store, and ways to spoil it that a fuzz test draws from."""

from __future__ import annotations

import sqlite3
from collections.abc import Callable
from contextlib import closing
from pathlib import Path

from hypothesis import strategies as st

from synth.layout import Layout
from synth.library import Canonical, Store
from synth.library.beyond import Beyond
from synth.library.columns import TABLES
from synth.questions.outcome import Outcome
from synth.questions.problem import Problem
from tests.library.answers import VOLUME, best_so_far, question, solved

Spoil = Callable[[Path], None]


def good_store(path: Path) -> Path:
    """One found with a note and a tag, one impossible, one open, with a layout beyond; boxes."""
    with Store(path) as store:
        store.keep(*_kept("q = a & ~b"), name="and with one not")
        no = solved("q = a ^ b", length=1, width=1, height=2)
        store.keep(Problem(no[0], VOLUME), no[1], name="exclusive-or")
        either = question(text="q = a | b", length=6)
        store.keep_answer(either, best_so_far(None, 3), "or")
        store.keep_beyond(either, Beyond(_too_tall("q = a | b"), 0, 1.0))
        store.remark(1, "seen on a bench", ("mine", "small"))
    return path


def _kept(text: str) -> tuple[Problem, Outcome]:
    spec, outcome = solved(text)
    return Problem(spec, VOLUME), outcome


def run(path: Path, statement: str, values: tuple[object, ...] = ()) -> None:
    """Change a store by hand; what SQLite itself refuses to write changes nothing."""
    with closing(sqlite3.connect(path)) as connection:
        connection.execute("PRAGMA ignore_check_constraints = ON")
        connection.execute("PRAGMA foreign_keys = OFF")
        try:
            connection.execute(statement, values)
            connection.commit()
        except (sqlite3.Error, UnicodeEncodeError):
            return


def _too_tall(text: str) -> Layout:
    """A right layout, in canonical names, with more room above than limits that are assumed."""
    problem, outcome = _kept(text)
    assert outcome.layout is not None
    small = Canonical.of(problem)[1].to_canonical(outcome.layout)
    return small.replace(size=(small.length, small.width, 9))


JSON_VALUES = ("null", "5", "[", "[" * 5000, "{}", '"x"', '{"a":1,"a":2}', "1" * 5000, "NaN")

VALUES = st.one_of(
    st.none(),
    st.integers(-(1 << 63), (1 << 63) - 1),
    st.integers(-3, 9),
    st.floats(),
    st.binary(max_size=20),
    st.text(max_size=20),
    st.sampled_from(JSON_VALUES),
    st.sampled_from(["\x1b[31mred\x1b[0m", "a\x00b", "\u202eabc", "\x9b2J", "x\ny", "<b>&'\""]),
    st.sampled_from(["found", "impossible", "undecided", "y", "x1", "../../x sha256:" + "0" * 64]),
)
"""Values of every type that SQLite has, some of them likely to pass a first look."""


@st.composite
def cells(draw: st.DrawFn) -> Spoil:
    """Another value in one column of one row or of all."""
    table = draw(st.sampled_from(sorted(TABLES)))
    column = draw(st.sampled_from(sorted(TABLES[table])))
    value = draw(VALUES)
    as_text_of_bytes = draw(st.booleans()) and isinstance(value, bytes)
    mark = "CAST(? AS TEXT)" if as_text_of_bytes else "?"
    where = draw(st.sampled_from(["", " LIMIT 1"]))
    rows = f"(SELECT {_key(table)} FROM {table}{where})"
    statement = f'UPDATE {table} SET "{column}" = {mark} WHERE ({_key(table)}) IN {rows}'
    return lambda path: run(path, statement, (value,))


def _key(table: str) -> str:
    return {"ruled_out": "box_key, length, width, height, delay, parts", "tags": "tag, number"}.get(
        table, "number"
    )


@st.composite
def documents(draw: st.DrawFn) -> Spoil:
    """A piece of a question's or layout's document in the place of another."""
    table, column = draw(st.sampled_from([("results", "asked"), ("layouts", "layout")]))
    old = draw(
        st.sampled_from(['"spec"', '"limits"', '["x1","x2"]', "15", "[1,2,3,4]", '"volume"', "1"])
        if column == "asked"
        else st.sampled_from(['"size"', "[2,1,3]", '"x1"', '"solid"', "0", "false", "null", '"+x"'])
    )
    new = draw(st.sampled_from([*JSON_VALUES[:6], "-1", "1e999", '"\\u001b"', "[[[]]]", "0.5"]))
    statement = f"UPDATE {table} SET {column} = replace({column}, ?, ?)"
    return lambda path: run(path, statement, (old, new))


SCHEMA = (
    "DROP TABLE layouts",
    "DROP TABLE results",
    "DROP TABLE ruled_out",
    "DROP INDEX results_size",
    "ALTER TABLE results DROP COLUMN bound",
    "ALTER TABLE results DROP COLUMN seconds",
    "ALTER TABLE results RENAME COLUMN name TO title",
    "ALTER TABLE results ADD COLUMN more BLOB",
    "ALTER TABLE layouts RENAME TO results2",
    "CREATE VIEW more AS SELECT * FROM results",
    "CREATE TRIGGER more AFTER INSERT ON results BEGIN DELETE FROM layouts; END",
    "PRAGMA user_version = 0",
    "PRAGMA user_version = -5",
    "PRAGMA user_version = 1",
    "PRAGMA application_id = 7",
    "DELETE FROM layouts",
    "DELETE FROM results",
)


@st.composite
def schemas(draw: st.DrawFn) -> Spoil:
    """A table, column, index, view or trigger too many or too few."""
    statement = draw(st.sampled_from(SCHEMA))
    return lambda path: run(path, statement)


@st.composite
def files(draw: st.DrawFn) -> Spoil:
    """Bytes of the file that are others, or missing."""
    flips = draw(st.lists(st.tuples(st.floats(0, 0.999), st.integers(1, 255)), max_size=8))
    kept = draw(st.sampled_from([1.0, 1.0, 0.9, 0.5, 0.01]))

    def spoil(path: Path) -> None:
        data = bytearray(path.read_bytes())
        for where, change in flips:
            data[int(where * len(data))] ^= change
        path.write_bytes(data[: int(kept * len(data))])

    return spoil


SPOILS = st.lists(
    st.one_of(cells(), cells(), documents(), schemas(), files()), min_size=1, max_size=2
)
