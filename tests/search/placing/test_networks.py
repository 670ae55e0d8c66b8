"""Exact synthesis: networks compute what is asked, and none smaller does."""

from __future__ import annotations

from itertools import combinations, product

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from synth.encoding.placing.signals import Origin, Signal, Signals
from synth.medium import ChainLink
from synth.search.placing.networks import (
    LinkPath,
    Network,
    input_signals,
    inverter_name,
    networks,
)
from synth.search.placing.pools import pools
from synth.spec import BooleanFunction, Spec

TWO = [format(number, "04b") for number in range(16)]


def function(table: str) -> BooleanFunction:
    inputs = ("a", "b", "c")[: len(table).bit_length() - 1]
    return BooleanFunction(inputs, {"q": table})


def pools_of(asked: BooleanFunction, delay: int) -> list[Signals]:
    return pools(list(networks(asked, delay)), delay)


def computes(network: Network) -> bool:
    """Play a network row by row, by the definition of NOR and OR alone."""
    asked = network.function
    for row, bits in enumerate(asked.assignments()):
        values = dict(zip(asked.inputs, bits, strict=True))
        values |= {signal.name: signal.rows >> row & 1 for signal in network.given}
        for number, heard in enumerate(network.hears, start=1):
            values[inverter_name(number)] = int(not any(values[name] for name in heard))
        for column, gathered in zip(asked.outputs.values(), network.outputs, strict=True):
            if column[row] != "-" and int(column[row]) != any(values[n] for n in gathered):
                return False
    return True


@settings(max_examples=30)
@given(
    st.text("01-", min_size=8, max_size=8),
    st.text("01", min_size=8, max_size=8),
    st.integers(1, 3),
)
def test_networks_compute_what_is_asked(first: str, second: str, delay: int) -> None:
    asked = BooleanFunction(("a", "b", "c"), {"p": first, "q": second})
    for network in networks(asked, delay, more=0, most=3):
        assert computes(network)
        assert max((signal.tick for signal in network.signals()), default=0) <= delay


@settings(max_examples=30)
@given(
    st.text("01-", min_size=8, max_size=8),
    st.lists(st.tuples(st.integers(0, 255), st.integers(1, 3)), max_size=3, unique=True),
)
def test_signals_that_are_there_are_used_from_their_ticks_on(
    table: str, there: list[tuple[int, int]]
) -> None:
    signals = tuple(
        Signal(f"given {number}", rows, tick, Origin.INVERTER)
        for number, (rows, tick) in enumerate(there)
    )
    for network in networks(function(table), 3, more=0, most=3, given=signals):
        assert computes(network)
        assert network.made() == network.signals()[3 + len(there) :]
        assert max((signal.tick for signal in network.signals()), default=0) <= 3


def test_a_signal_that_is_there_saves_inverters() -> None:
    xor = Signal("given 1", 0b00111100, 2, Origin.INVERTER)
    asked = function("01101001")
    alone, beside = (next(networks(asked, 4, more=0, given=there)) for there in ((), (xor,)))
    assert len(beside.hears) < len(alone.hears)


def least_by_trying(table: str, delay: int) -> int | None:
    """Fewest NORs by trying every network of up to four, in another way than the solver's."""
    start = {signal.rows: 0 for signal in input_signals(function(table))}
    every = (1 << len(table)) - 1
    wanted = sum(1 << row for row, value in enumerate(table) if value == "1")

    def is_an_or(known: dict[int, int]) -> bool:
        gathered = 0
        for rows in known:
            if not rows & ~wanted:
                gathered |= rows
        return gathered == wanted

    frontier = [start]
    for inverters in range(5):
        if any(is_an_or(known) for known in frontier):
            return inverters
        grown = {}
        for known in frontier:
            for count in range(len(known) + 1):
                for heard in combinations(known, count):
                    tick = 1 + max((known[rows] for rows in heard), default=0)
                    rows = every
                    for one in heard:
                        rows &= ~one
                    if tick <= delay and rows not in known:
                        larger = known | {rows: tick}
                        grown[tuple(sorted(larger.items()))] = larger
        frontier = list(grown.values())
    return None


@pytest.mark.parametrize(("table", "delay"), list(product(TWO, (1, 2))))
def test_none_has_fewer_inverters(table: str, delay: int) -> None:
    found = next(networks(function(table), delay, more=0, most=1), None)
    assert (len(found.hears) if found else None) == least_by_trying(table, delay)


def test_known_least_numbers() -> None:
    """Where outputs are ORs for free, at most the least numbers with NORs alone.

    Those of NORs alone are textbook figures, from memory: xor 5, xnor 4, and 3, or 2.
    """
    alone = {"0110": 5, "1001": 4, "0001": 3, "0111": 2}
    for table, nors_alone in alone.items():
        found = next(networks(function(table), 6, more=0, most=1))
        assert len(found.hears) <= nors_alone
    assert len(next(networks(function("0110"), 2)).hears) == 3


def test_networks_of_one_number_differ_in_their_functions() -> None:
    found = list(networks(function("01101001"), 4, more=0, most=6))
    made = [
        tuple(signal.rows for signal in network.signals() if signal.origin is Origin.INVERTER)
        for network in found
    ]
    assert len(found) == len(set(made)) == 6


def test_no_network_within_too_short_a_delay() -> None:
    assert list(networks(function("0110"), 1)) == []
    assert pools_of(function("0110"), 1) == []


def test_an_output_that_is_an_input_needs_no_inverter() -> None:
    assert next(networks(function("0011"), 0)).hears == ()


def test_pools_hold_each_network_whole() -> None:
    asked = Spec.parse("s = a ^ b; c = a & b").function
    smallest = next(networks(asked, 2))
    for pool in pools_of(asked, 2):
        rows = {signal.rows for signal in pool.all}
        assert {signal.rows for signal in smallest.signals()} <= rows or len(rows) > 4
        inputs = [signal for signal in pool.all if signal.origin is Origin.INPUT]
        assert inputs == input_signals(asked)


def test_signals_that_a_network_joins_may_mix() -> None:
    pool = pools_of(function("0110"), 2)[0]
    terms = [signal for signal in pool.all if signal.origin is Origin.INVERTER and signal.tick == 2]
    wanted = sum(1 << row for row, value in enumerate("0110") if value == "1")
    pairs = [
        (one, other)
        for one, other in combinations(terms, 2)
        if one.rows | other.rows == wanted and one.rows != wanted != other.rows
    ]
    assert any(pool.may_mix(one, other) for one, other in pairs)
    assert pool.may_mix(terms[0], Signal("other", terms[0].rows, 2, Origin.BUFFER))


def inverters_between(network: Network, start: str, end: str) -> int:
    """The most inverters in a row from an input to an output; 0 without any."""
    longest = {start: 0}
    for number, heard in enumerate(network.hears, start=1):
        before = [longest[name] for name in heard if name in longest]
        if before:
            longest[inverter_name(number)] = max(before) + 1
    gathered = dict(zip(network.function.outputs, network.outputs, strict=True))[end]
    return max((longest[name] for name in gathered if name in longest), default=0)


@settings(max_examples=15)
@given(st.text("01", min_size=8, max_size=8), st.integers(0, 3))
def test_few_inverters_stand_between_links(table: str, most: int) -> None:
    asked = BooleanFunction(("a", "b", "i"), {"o": table})
    path = LinkPath((ChainLink("o", "i"),), most)
    found = list(networks(asked, 3, more=0, most=3, path=path))
    for network in found:
        assert computes(network)
        assert inverters_between(network, "i", "o") <= most
    free = list(networks(asked, 3, more=0, most=3))
    if any(inverters_between(network, "i", "o") <= most for network in free):
        assert found
        assert len(found[0].hears) == len(free[0].hears)


def test_a_carry_needs_two_inverters_between_its_links() -> None:
    carry = BooleanFunction(("a", "b", "ci"), {"co": "00010111"})
    chain = (ChainLink("co", "ci"),)
    assert list(networks(carry, 4, path=LinkPath(chain, 1))) == []
    assert next(networks(carry, 4, path=LinkPath(chain, 2)), None) is not None
