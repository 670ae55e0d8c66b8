"""The store that comes with the benchmarks: present names of functions, claims with every limit."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from pathlib import Path

import pytest

from synth.library.schema import VERSION
from synth.library.store import Store
from synth.questions.in_force import limits_text
from synth.search import Status
from synth.spec.function_names import function_name

STORE = Path(__file__).parents[2] / "benchmarks" / "demo_library.sqlite"


@pytest.fixture(scope="module")
def store() -> Iterator[Store]:
    """A copy, so that nothing is written to the file."""
    with Store.copy_of(STORE) as store:
        yield store


def test_it_is_of_the_present_version() -> None:
    connection = sqlite3.connect(f"file:{STORE}?mode=ro", uri=True)
    try:
        assert connection.execute("PRAGMA user_version").fetchall() == [(VERSION,)]
    finally:
        connection.close()


def test_functions_have_the_names_of_the_list(store: Store) -> None:
    names = {entry.name for entry in store.entries()}
    assert {"xor2", "mux2", "maj3", "does-not-imply2", "inverter"} <= names
    for entry in store.entries():
        assert entry.name == function_name(entry.table)


def test_claims_name_every_limit(store: Store) -> None:
    """Those of a census in its own words."""
    for entry in store.entries():
        claim, problem = store.claim(entry.number), store.asked(entry.number).problem
        if "no layout" in claim:
            assert f"under {limits_text(problem)}" in claim
        elif entry.status is not Status.UNDECIDED:
            for measure in ("length", "width", "height", "delay"):
                assert f"{measure} at most {getattr(problem.limits, measure)}" in claim
