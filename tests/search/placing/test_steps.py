"""Networks divided into steps: played one after the other they compute what the whole does."""

from __future__ import annotations

from functools import cache
from itertools import pairwise, product

import pytest

from synth.medium import ChainLink
from synth.search.placing.networks import LinkPath, Network, inverter_name, networks
from synth.search.placing.steps import CLOSE, LOW, TALL, Steps, divided, on_the_way
from synth.spec import BooleanFunction
from synth.spec.targets import load_target
from tests.waiting import Clock

SLICES = ("full-adder", "full-subtractor", "equality", "greater-than", "incrementer", "parity")


@cache
def ways_of(name: str) -> list[Steps]:
    spec = load_target(f"{name}-slice")
    return divided(networks(spec.function, 5, more=0, most=4), spec.chain)


def played(steps: Steps, values: dict[str, int]) -> dict[str, int]:
    """The values of everything, one step after the other."""
    known = dict(values)
    for step in steps:
        function = step.network.function
        row = int("".join(str(known[name]) for name in function.inputs), 2)
        known |= {name: int(column[row]) for name, column in function.outputs.items()}
    return known


@pytest.mark.parametrize("name", SLICES)
def test_steps_compute_what_the_whole_does(name: str) -> None:
    spec = load_target(f"{name}-slice")
    ways = ways_of(name)
    assert ways
    inputs, outputs = spec.function.inputs, spec.function.outputs
    for steps in ways:
        for row, bits in enumerate(product((0, 1), repeat=len(inputs))):
            known = played(steps, dict(zip(inputs, bits, strict=True)))
            assert all(
                column[row] in ("-", str(known[output])) for output, column in outputs.items()
            )


@pytest.mark.parametrize("name", SLICES)
def test_every_pin_is_at_one_step_and_links_at_the_ends(name: str) -> None:
    spec = load_target(f"{name}-slice")
    for steps in ways_of(name):
        assert set(steps[0].entering) == {link.input for link in spec.chain}
        assert set(steps[-1].leaving) == {link.output for link in spec.chain}
        for before, after in pairwise(steps):
            assert before.leaving == after.entering
        pins = [
            pin
            for step in steps
            for pin in (*step.network.function.inputs, *step.network.function.outputs)
            if pin in spec.pin_names
        ]
        assert sorted(pins) == sorted(spec.pin_names)


@pytest.mark.parametrize("name", SLICES)
def test_steps_are_small_and_the_easiest_ways_come_first(name: str) -> None:
    ways = ways_of(name)
    for steps in ways:
        assert all(len(step.network.hears) <= LOW.at_once for step in steps)
        assert all(len(step.entering) <= LOW.tracks for step in steps)
    hardest = [max(step.connections for step in steps) for steps in ways]
    assert hardest[0] <= min(hardest) or hardest[0] <= 9


def test_an_adder_has_two_close_steps() -> None:
    """The first hears the link and an operand: whether they differ, and whether both are off."""
    spec = load_target("full-adder-slice")
    steps = divided(networks(spec.function, 5, most=40), spec.chain, CLOSE)[0]
    assert [len(step.network.hears) for step in steps] == [3, 4]
    assert len(steps[0].network.function.inputs) == 2
    assert sorted(steps[0].network.function.outputs[name] for name in steps[0].leaving) == [
        "0110",
        "1000",
    ]


@pytest.mark.parametrize(("name", "row"), [("full-adder", 2), ("two-rail-full-adder", 1)])
def test_one_way_all_that_leads_from_link_to_link_is_in_the_last_step(name: str, row: int) -> None:
    """So only inputs of links cross by wires, each on a track of its own."""
    spec = load_target(f"{name}-slice")
    path = LinkPath(spec.chain, row, apart=True)
    found = list(networks(spec.function, 5, more=0, most=4, path=path))
    ways = divided(found, spec.chain, TALL)
    assert ways
    for steps in ways:
        assert len(steps) <= TALL.seams + 1
        for step in steps[:-1]:
            way = on_the_way(step.network, spec.chain)
            assert not any(inverter in way for inverter in map(inverter_name, range(1, 9)))
            carried = dict(zip(step.network.function.outputs, step.network.outputs, strict=True))
            for track in step.linked.keys() & set(step.leaving):
                (source,) = carried[track]
                assert step.linked[track] == step.linked[source]
        for bits in product((0, 1), repeat=len(spec.function.inputs)):
            known = played(steps, dict(zip(spec.function.inputs, bits, strict=True)))
            at = int("".join(map(str, bits)), 2)
            for output, column in spec.function.outputs.items():
                assert column[at] in ("-", str(known[output]))


def test_no_more_ways_are_looked_for_once_the_time_is_over(clock: Clock) -> None:
    network = next(networks(load_target("full-adder-slice").function, 5, more=0, most=1))
    chain = load_target("full-adder-slice").chain
    assert divided([network], chain, until=clock.now + 1.0)
    assert divided([network], chain, until=clock.now) == []


def test_what_is_heard_together_shares_a_track() -> None:
    function = BooleanFunction(("a", "b", "i"), {"o": "00000001"})
    network = Network(
        function,
        (("a",), ("b",), ("i",), (inverter_name(1), inverter_name(2), inverter_name(3))),
        ((inverter_name(4),),),
    )
    best, *_ = divided([network], (ChainLink("o", "i"),))
    first, *_ = best
    assert [len(step.leaving) for step in best] == [1] * len(best)
    assert first.entering == ("i",)


def test_an_input_that_nothing_needs_has_its_pin_at_the_first_step() -> None:
    function = BooleanFunction(("a", "b", "i"), {"o": "00001100"})
    network = Network(function, (("a",), (inverter_name(1), "b")), ((inverter_name(2),),))
    best, *_ = divided([network], (ChainLink("o", "i"),))
    assert "i" in best[0].network.function.inputs
    assert all("i" not in step.network.function.inputs for step in best[1:])
    unused = Network(function, (("i",), (inverter_name(1),)), ((inverter_name(2),),))
    best, *_ = divided([unused], (ChainLink("o", "i"),))
    assert set(best[0].network.function.inputs) == {"a", "b", "i"}


def test_inputs_may_have_any_name_that_a_pin_may_have() -> None:
    """Inverters are told apart from them: a circuit may well have inputs called n1 and n2."""
    found = {}
    for names in (("a", "b", "c"), ("n1", "n2", "n3")):
        function = BooleanFunction(names, {"s": "01101001", "co": "00010111"})
        (network,) = networks(function, 5, most=1, more=0)
        rows = {signal.name: signal.rows for signal in network.signals()}
        for column, gathered in zip(function.outputs.values(), network.outputs, strict=True):
            on = {row for name in gathered for row in range(8) if rows[name] >> row & 1}
            assert on == {row for row in range(8) if column[row] == "1"}
        best, *_ = divided([network], (ChainLink("co", names[2]),))
        found[names] = [step.connections for step in best]
    assert len({tuple(costs) for costs in found.values()}) == 1
