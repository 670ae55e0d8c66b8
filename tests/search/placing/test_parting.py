"""Slices in three parts: played one after the other they compute what the whole does."""

from __future__ import annotations

from functools import cache
from itertools import product

import pytest

from synth.search.placing.networks import Network, inverter_name, networks
from synth.search.placing.parting import Parting, lean, partings
from synth.spec import BooleanFunction, Spec
from synth.spec.targets import load_target

TWO_RAILS = "two-rail-full-adder-slice"
ADDER = "full-adder-slice"
ROWS = {ADDER: 2, TWO_RAILS: 1, "incrementer-slice": 2, "priority-slice": 2}
"""Targets, and the most inverters in a row from link to link."""


@cache
def ways_of(name: str) -> list[Parting]:
    return partings(load_target(name), ROWS[name])


def played(parting: Parting, values: dict[str, int]) -> dict[str, int]:
    """The values of everything: the source first, and nothing of the readout for the heart."""
    known = dict(values)
    for network in (parting.source, parting.readout, parting.heart):
        if network is not None:
            function = network.function
            row = int("".join(str(known[name]) for name in function.inputs), 2)
            known |= {name: int(column[row]) for name, column in function.outputs.items()}
    return known


@pytest.mark.parametrize("name", ROWS)
def test_parts_compute_what_the_whole_does(name: str) -> None:
    spec = load_target(name)
    function = spec.function
    assert ways_of(name)
    for parting in ways_of(name)[:8]:
        for row, values in enumerate(product((0, 1), repeat=len(function.inputs))):
            known = played(parting, dict(zip(function.inputs, values, strict=True)))
            for output, column in function.outputs.items():
                assert column[row] in ("-", str(known[output]))


@pytest.mark.parametrize("name", ROWS)
def test_only_the_heart_and_the_readout_hear_links(name: str) -> None:
    links = {link.input for link in load_target(name).chain}
    for parting in ways_of(name):
        assert not links & {one for heard in parting.source.hears for one in heard}
        if parting.readout is not None:
            heard = {one for group in parting.readout.hears for one in group}
            assert heard & links <= {parting.tapped}
            assert set(parting.readout.function.inputs) == links | {parting.track}


@pytest.mark.parametrize("name", ROWS)
def test_few_inverters_stand_in_a_row_in_the_heart(name: str) -> None:
    for parting in ways_of(name):
        assert max(signal.tick for signal in parting.heart.signals()) <= ROWS[name]


def test_parts_that_are_soonest_placed_come_first() -> None:
    hardness = [parting.hardness for parting in ways_of(TWO_RAILS)]
    assert hardness == sorted(hardness)
    assert len(hardness) > 1


def test_the_heart_of_an_adder_hears_what_is_killed_and_what_is_generated() -> None:
    """Two tracks, though networks with fewer inverters before them have three."""
    first, *others = ways_of(ADDER)
    assert len(first.tracks) == 2
    assert len(first.heart.hears) == 2
    assert any(len(parting.tracks) == 3 for parting in others)


def test_names_of_tracks_are_no_pins() -> None:
    spec = Spec.parse("co = m1 & ci; s = m1 ^ ci", stack="x", chain=[("co", "ci")])
    parting = partings(spec, 2)[0]
    made = {*parting.tracks, parting.track, *parting.passed.values()}
    assert not made & set(spec.pin_names)
    assert len(made) == len(parting.tracks) + 2


def test_outputs_that_need_more_than_a_track_and_a_link_are_not_parted() -> None:
    spec = Spec.parse("co = a & ci; s = ci ? a : b", stack="x", chain=[("co", "ci")])
    assert partings(spec, 2) == []


def test_a_link_that_is_not_turned_round_in_time_is_not_parted() -> None:
    spec = Spec.parse("co = a & ci", stack="x", chain=[("co", "ci")])
    assert partings(spec, 1) == []


def test_a_lean_network_computes_the_same() -> None:
    function = BooleanFunction(("a", "b"), {"q": "0110"})
    heard_in_vain = Network(
        function,
        (("a", "b"), ("a", inverter_name(1)), ("b", inverter_name(1), inverter_name(2))),
        ((inverter_name(2), inverter_name(3)),),
    )
    for network in (heard_in_vain, *networks(function, 3, most=6)):
        before = [signal.rows for signal in network.signals()]
        thin = lean(network)
        assert [signal.rows for signal in thin.signals()] == before
        assert thin.connections <= network.connections
    # What the first inverter is on in, b and it are off in: the second says nothing more there.
    assert lean(heard_in_vain).connections < heard_in_vain.connections


def test_what_the_readout_needs_is_made_where_it_is_not_there() -> None:
    """A carry alone needs no exclusive-or of its operands, and its sum does."""
    parting = ways_of(ADDER)[0]
    assert parting.track is not None
    place = {name: number for number, name in enumerate(parting.source.function.inputs)}
    column = parting.source.function.outputs[parting.track]
    told = {
        "".join(values[place[name]] for name in ("a", "b")): column[row]
        for row, values in enumerate(product("01", repeat=len(place)))
    }
    assert told["01"] == told["10"] != told["00"] == told["11"]
