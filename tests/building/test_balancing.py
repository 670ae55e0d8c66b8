"""With balance, all outputs settle at the same tick; where they do not, that is said."""

from __future__ import annotations

from collections.abc import Mapping
from random import Random

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from synth.building import Built, build
from synth.building.annealing import placed
from synth.building.balancing import is_balanced, unbalanced_words
from synth.building.mapping import mapped
from synth.building.painting import painted
from synth.circuits.circuit import Circuit
from synth.circuits.judging import judge
from synth.circuits.ticks import Ticks, output_ticks
from synth.layout import Layout
from synth.medium import Joint, Rules
from synth.questions.outcome import Status
from synth.simulator.settling import settle
from tests.building.test_build import adder
from tests.circuits.drawn import columns, drawn_circuit


def settled_at(layout: Layout) -> dict[str, int]:
    """For each output the first tick from which it is known in every assignment."""
    settled = settle(layout)
    found = {}
    for pin in layout.outputs:
        unknown = [
            tick
            for tick in range(len(settled.ticks))
            if settled.surely_reads(pin.name, tick) != settled.possibly_reads(pin.name, tick)
        ]
        found[pin.name] = 1 + max(unknown, default=-1)
    return found


def of(built: Built) -> Layout:
    assert built.layout is not None
    return built.layout


def test_outputs_of_an_adder_wait_for_the_last_one() -> None:
    plain = build(adder(2), rounds=20)
    even = build(adder(2), rounds=20, balance=True)
    assert even.status is Status.FOUND
    assert len(set(settled_at(of(plain)).values())) > 1
    assert set(settled_at(of(even)).values()) == {even.delay}
    assert "all outputs at the same tick" in even.claim
    assert "all outputs" not in plain.claim
    assert {even.pins[name]: ticks.most for name, ticks in even.outputs.items()} == settled_at(
        of(even)
    )


@settings(max_examples=10)
@given(st.integers(0, 2**32), st.sampled_from(list(Joint)))
def test_balanced_circuits_settle_at_one_tick(seed: int, joint: Joint) -> None:
    circuit = drawn_circuit(Random(seed), outputs=4)
    built = build(circuit, rounds=1, joint=joint, balance=True)
    assert built.status is Status.FOUND
    ticks = settled_at(of(built))
    constants = {0, (1 << (1 << len(circuit.inputs))) - 1}
    varying = [name for name, column in columns(circuit).items() if column not in constants]
    assert len({ticks[built.pins[name]] for name in varying}) <= 1


@settings(max_examples=15)
@given(st.integers(0, 2**32), st.lists(st.integers(0, 5), min_size=4, max_size=4))
def test_each_buffer_before_a_pin_makes_it_wait_a_tick(seed: int, counts: list[int]) -> None:
    circuit = drawn_circuit(Random(seed), outputs=4)
    placement = placed(mapped(circuit), rounds=0)
    pads = dict(zip(circuit.outputs, counts, strict=False))
    layout = painted(placement, pads=pads)
    pins = {name: name for name in (*circuit.inputs, *circuit.outputs)}
    assert judge(layout, circuit, pins).played
    before, after = settled_at(painted(placement)), settled_at(layout)
    for name, literal in circuit.outputs.items():
        if literal > 1 and layout.length == painted(placement).length:
            assert (
                after[name] >= before[name] + pads[name] - 1
            )  # a buffer that repeats may stand in for one


def test_a_layout_that_is_not_balanced_is_undecided(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("synth.building.pipeline.balanced", lambda paint, *_: paint({}))
    built = build(adder(2), rounds=0, balance=True)
    assert built.status is Status.UNDECIDED
    assert built.reason.startswith("the outputs are not balanced: they settle s1 at tick")
    assert "all outputs at the same tick" not in built.claim


def test_slow_buffers_balance_what_they_can() -> None:
    built = build(adder(1), rounds=0, balance=True, rules=Rules(reach=15, buffer_delays=(2, 4)))
    ticks = {found.most for found in built.outputs.values()}
    assert (built.status is Status.FOUND) == (len(ticks) == 1)
    assert ("not balanced" in built.reason) == (len(ticks) > 1)


def test_constants_wait_for_nothing() -> None:
    circuit = Circuit("odd", ("a", "b"), ((2, 4),), {"p": 2, "q": 6, "s": 0, "t": 1})
    built = build(circuit, rounds=0, balance=True)
    assert built.status is Status.FOUND
    assert list(built.outputs) == ["p", "q", "s", "t"]
    assert {built.pins[name]: found.most for name, found in built.outputs.items()} == settled_at(
        of(built)
    )
    assert ", all outputs at the same tick but constants s and t, under" in built.claim
    one = Circuit("odd", ("a", "b"), ((2, 4),), {"q": 6, "t": 1})
    assert "at the same tick but the constant t," in build(one, rounds=0, balance=True).claim


def test_of_many_inputs_ticks_are_bounded_from_both_sides() -> None:
    circuit = adder(7)
    layout = painted(placed(mapped(circuit), rounds=0))
    pins = {name: name for name in (*circuit.inputs, *circuit.outputs)}
    network = judge(layout, circuit, pins, play=False).network
    assert network is not None
    found = output_ticks(network, circuit, pins)
    assert all(ticks.least <= ticks.most <= network.delay for ticks in found.values())
    assert max(ticks.most for ticks in found.values()) == network.delay


def test_what_is_not_known_is_no_balance() -> None:
    open_: Mapping[str, Ticks] = {"p": Ticks(3, 5), "q": Ticks(3, 5)}
    assert not is_balanced(open_)
    assert unbalanced_words(open_).startswith("it is not known that")
    assert "p at tick 3 to 5 and q at tick 3 to 5" in unbalanced_words(open_)
