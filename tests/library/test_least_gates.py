"""No layout of the demo library has fewer inverters than its function needs.

Three bounds, the weakest with the strongest source first. In the medium the only part that negates
is the inverter, a NOR of whatever charges its host; ORs are wires that meet, and cost none.

* A. A. Markov, On the inversion complexity of a system of functions, Journal of the ACM 5 (1958),
  331-334 (from memory): where ANDs and ORs cost nothing, a function whose value falls at most d
  times along any rising chain of assignments takes ceil(log2(d + 1)) negations. It bounds layouts
  because they have only the ORs.
* Least numbers of NOR gates alone, by trying all networks, against textbook figures. It bounds
  layouts because a layout of one output is a network of its inverters, and of two NORs more for the
  signals that meet at the output.
* Least numbers of NORs with ORs free, by ``synth.search.placing.networks``. That is the medium's
  model itself, delay included.
"""

from __future__ import annotations

from functools import cache
from math import ceil, log2
from pathlib import Path

import pytest

from synth.library import Store
from synth.search.placing.networks import input_signals, networks
from synth.spec import BooleanFunction

STORE = Path(__file__).parents[2] / "benchmarks" / "demo_library.sqlite"

Question = tuple[BooleanFunction, int]
"""A function and the ticks within which it has to be right."""

NORS_ALONE = {
    "00": 2,
    "01": 0,
    "10": 1,
    "0001": 3,
    "0010": 2,
    "0110": 5,
    "0111": 2,
    "1000": 1,
    "1001": 4,
    "1011": 3,
    "1110": 4,
}
"""Least numbers of NOR gates, inputs of any number: textbook figures, from memory."""


@cache
def fewest() -> dict[Question, int]:
    """For each question of the demo library the fewest inverters of any layout that answers it."""
    found: dict[Question, int] = {}
    with Store.copy_of(STORE) as store:
        for entry in store.entries():
            if entry.volume is None:
                continue
            layout, asked = store.layout(entry.number), store.asked(entry.number)
            count = layout.bill_of_materials().get("inverter", 0)
            assert entry.delay is not None
            question = (asked.spec.function, entry.delay)
            found[question] = min(count, found.get(question, count))
    return found


def falls(table: str) -> int:
    """How often a function falls from 1 to 0 at most, along a chain that adds input after input."""
    best: dict[int, int] = {}
    for row in range(len(table)):
        below = [row ^ bit for bit in (1 << i for i in range(len(table).bit_length())) if row & bit]
        best[row] = max(
            (best[lower] + (table[lower] == "1" and table[row] == "0") for lower in below),
            default=0,
        )
    return max(best.values())


def nors_alone(table: str) -> int:
    """Fewest NOR gates that make a function of up to two inputs, by trying all networks."""
    every = (1 << len(table)) - 1
    inputs = ("a", "b")[: len(table).bit_length() - 1]
    wanted = sum(1 << row for row, value in enumerate(table) if value == "1")
    sets = {frozenset(s.rows for s in input_signals(BooleanFunction(inputs, {"q": table})))}
    gates = 0
    while not any(wanted in known for known in sets):
        gates += 1
        sets = {known | {every & ~union} for known in sets for union in unions(known)}
    return gates


def unions(known: frozenset[int]) -> set[int]:
    """Every OR of some of the functions, of none of them as well."""
    found = {0}
    for rows in known:
        found |= {rows | other for other in found}
    return found


@pytest.mark.parametrize("table", sorted(NORS_ALONE))
def test_textbook_figures_are_what_trying_finds(table: str) -> None:
    assert nors_alone(table) == NORS_ALONE[table]


@pytest.mark.parametrize(
    ("table", "count"), [("0001", 0), ("10", 1), ("0110", 1), ("1001", 1), ("01101001", 1)]
)
def test_falls_along_a_chain(table: str, count: int) -> None:
    """An AND never falls; parities by hand."""
    assert falls(table) == count


def test_the_demo_library_has_layouts() -> None:
    assert len(fewest()) >= 30


def test_no_layout_has_fewer_inverters_than_negations_are_needed() -> None:
    for (function, _), inverters in fewest().items():
        for table in function.outputs.values():
            assert inverters >= ceil(log2(falls(table) + 1)), table


def test_no_layout_has_fewer_inverters_than_nors_alone_allow() -> None:
    compared = 0
    for (function, _), inverters in fewest().items():
        for table in function.outputs.values():
            if table in NORS_ALONE:
                assert inverters + 2 >= NORS_ALONE[table], table
                compared += 1
    assert compared >= 10


def test_no_layout_has_fewer_inverters_than_exact_synthesis() -> None:
    equal = 0
    for (function, delay), inverters in fewest().items():
        least = len(next(networks(function, delay, more=0, most=1)).hears)
        assert inverters >= least, (function, delay)
        equal += inverters == least
    # The bound is sharp: most layouts that are smallest by volume have the fewest inverters, too.
    assert equal > len(fewest()) / 2


@pytest.mark.parametrize("table", ["0110", "0001", "01101001", "00010111"])
def test_the_bounds_agree_with_each_other(table: str) -> None:
    """The bounds agree with each other, each made in another way."""
    inputs = ("a", "b", "c")[: len(table).bit_length() - 1]
    least = len(next(networks(BooleanFunction(inputs, {"q": table}), 6, more=0, most=1)).hears)
    assert least >= ceil(log2(falls(table) + 1))
    if len(table) == 4:
        assert least + 2 >= NORS_ALONE[table] >= least
