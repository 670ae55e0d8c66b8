"""From a circuit to a layout: every stage keeps the function, every layout passes the simulator."""

from __future__ import annotations

from pathlib import Path
from random import Random

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from synth.building.annealing import anneal, area, placed
from synth.building.bursts import AGAIN, STARTS, started
from synth.building.estimate import estimated_delay
from synth.building.mapping import mapped
from synth.building.optimise import optimised
from synth.building.painting import painted
from synth.building.placing import PITCH, Placement
from synth.circuits.circuit import Circuit
from synth.circuits.judging import judge
from synth.circuits.pins import pin_names
from synth.circuits.reading.read import read_circuit
from synth.fields import NAME_PATTERN
from synth.medium import DEFAULT_RULES, Joint, Rules
from synth.simulator.acyclic import Network, network_of
from synth.simulator.settling import input_masks
from tests.circuits.drawn import columns, drawn_circuit

CIRCUITS = Path(__file__).parents[2] / "benchmarks" / "circuits"
WAYS = st.sampled_from(["area", "delay"])


@given(st.integers(0, 2**32), WAYS, st.integers(2, 6))
def test_nands_compute_the_circuit(seed: int, by: str, most_reads: int) -> None:
    circuit = drawn_circuit(Random(seed), ands=25, outputs=4)
    network = mapped(circuit, by=by, most_reads=most_reads)
    count = len(circuit.inputs)
    masks = dict(zip(circuit.inputs, input_masks(count), strict=True))
    assert network.evaluate(masks, (1 << (1 << count)) - 1) == columns(circuit)
    shown = [signal for signal in network.outputs.values() if signal]
    assert len(set(shown)) == len(shown)
    assert all(len(gate.reads) <= max(most_reads, 2) for gate in network.gates)


@settings(max_examples=12)
@given(st.integers(0, 2**32), WAYS)
def test_optimising_keeps_the_function_and_makes_nothing_worse(seed: int, by: str) -> None:
    circuit = drawn_circuit(Random(seed), ands=25, outputs=4)
    better = optimised(circuit, by=by)
    assert columns(better) == columns(circuit)
    sizes = [(len(one.ands), one.depth) for one in (better, circuit)]
    assert sizes[0][by == "delay"] <= sizes[1][by == "delay"]


def touching(placement: Placement) -> list[str]:
    """What a placement breaks of its own rules."""
    wrong = []
    slots: dict[int, list[tuple[int, int]]] = {}
    for name, column in placement.columns.items():
        for low, high in slots.get(column.slot, []):
            if column.span[0] <= high + 1 and low <= column.span[1] + 1:
                wrong.append(f"{name} touches another column")
        slots.setdefault(column.slot, []).append(column.span)
        for read, lane in zip(
            column.gate.reads, map(placement.lane, column.gate.reads), strict=True
        ):
            if lane not in column.reads:
                wrong.append(f"{name} does not read {read}")
            made = placement.columns.get(read)
            if made is not None and made.slot >= column.slot:
                wrong.append(f"{name} reads {read} before it is made")
    spans = [column.span for column in placement.columns.values()]
    if placement.wire != sum(high - low + 1 for low, high in spans):
        wrong.append(f"{placement.wire} is not the wire of all columns")
    return wrong


@given(st.integers(0, 2**32), st.integers(0, 30))
def test_placements_keep_their_rules_from_every_start(seed: int, rounds: int) -> None:
    network = mapped(drawn_circuit(Random(seed), ands=20, outputs=4))
    found = anneal(network, started(network, seed % len(STARTS)), rounds=rounds, seed=seed)
    assert not touching(found.placement)
    assert found.price == area(found.placement)
    again = anneal(network, started(network, seed % len(STARTS)), rounds=rounds, seed=seed)
    assert again == found
    # From the best on, nothing worse comes out.
    on = anneal(network, found.taste, rounds=rounds, seed=seed, heat=AGAIN)
    assert on.price <= found.price


@settings(max_examples=40)
@given(st.integers(0, 2**32), st.sampled_from(list(Joint)), WAYS, st.integers(0, 20))
def test_every_layout_is_right_by_construction(
    seed: int, joint: Joint, by: str, rounds: int
) -> None:
    circuit = drawn_circuit(Random(seed), ands=14, outputs=4)
    placement = placed(mapped(circuit, by=by), rounds=rounds)
    layout = painted(placement, joints=joint)
    judgement = judge(layout, circuit, {name: name for name in (*circuit.inputs, *circuit.outputs)})
    assert not judgement.faults
    assert judgement.played
    assert layout.width == PITCH * placement.lanes or layout.width == PITCH * placement.lanes - 1


@pytest.mark.parametrize("reach", [7, 9, 15, 30])
def test_long_wires_are_repeated(reach: int) -> None:
    """With a short reach nearly every row and column needs buffers."""
    rules = Rules(reach=reach, buffer_delays=DEFAULT_RULES.buffer_delays)
    circuit = drawn_circuit(Random(7), inputs=6, ands=30, outputs=4)
    layout = painted(placed(mapped(circuit), rounds=50), rules=rules)
    pins = {name: name for name in (*circuit.inputs, *circuit.outputs)}
    assert not judge(layout, circuit, pins, rules=rules).faults


def test_constants_inputs_and_repeated_outputs() -> None:
    circuit = Circuit("odd", ("a", "b"), (), {"p": 2, "q": 2, "r": 3, "s": 0, "t": 1})
    layout = painted(placed(mapped(circuit), rounds=0))
    pins = {name: name for name in (*circuit.inputs, *circuit.outputs)}
    assert judge(layout, circuit, pins).played


@given(st.lists(st.text("a0_[].$ ", min_size=1, max_size=6), unique=True, max_size=8))
def test_pins_have_names_of_their_own(signals: list[str]) -> None:
    names = pin_names(signals)
    assert list(names) == signals
    assert len(set(names.values())) == len(signals)
    assert all(NAME_PATTERN.fullmatch(name) for name in names.values())
    assert all(names[signal] == signal for signal in signals if NAME_PATTERN.fullmatch(signal))


def test_the_estimate_of_ticks_is_that_of_the_simulator_but_for_a_tick_or_two() -> None:
    """Over circuits of 12 to 20 ticks; without the length of a way it is short by far more."""
    off = []
    for name in ("adder4.eqn", "multiplier3.eqn", "segments.blif"):
        circuit = read_circuit(CIRCUITS / name)
        for by, rounds in (("area", 0), ("area", 30), ("delay", 0), ("delay", 30)):
            placement = placed(mapped(circuit, by=by), rounds=rounds)
            network = network_of(painted(placement))
            assert isinstance(network, Network)
            off.append(estimated_delay(placement, DEFAULT_RULES.reach) - network.delay)
    assert max(map(abs, off)) <= 2
    assert sum(map(abs, off)) / len(off) <= 0.8
