"""Pieces read off a layout are the gates it was painted from, whole and in their order."""

from __future__ import annotations

from pathlib import Path
from random import Random

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from synth.building.annealing import placed
from synth.building.mapping import NandNetwork, mapped
from synth.building.painting import painted
from synth.circuits.circuit import Circuit
from synth.circuits.pieces import Pieces, pieces_of
from synth.circuits.reading.read import read_circuit
from synth.layout import Layout, PieceKind
from synth.medium import DEFAULT_RULES, Joint, Part, Rules
from synth.simulator.acyclic import Network, network_of
from synth.simulator.settling import input_masks, settle
from tests.circuits.drawn import drawn_circuit

TESTS = Path(__file__).parents[1]


def found_in(layout: Layout, like: NandNetwork, rules: Rules = DEFAULT_RULES) -> Pieces:
    network = network_of(layout, rules)
    assert isinstance(network, Network)
    masks = dict(zip(like.inputs, input_masks(len(like.inputs)), strict=True))
    full = (1 << (1 << len(masks))) - 1
    return pieces_of(layout, network, masks, full, like.values(masks, full))


@settings(max_examples=25)
@given(st.integers(0, 2**32), st.sampled_from(list(Joint)), st.sampled_from([7, 15]))
def test_each_nand_is_a_gate_and_every_part_is_in_one_piece(
    seed: int, joint: Joint, reach: int
) -> None:
    rules = Rules(reach=reach, buffer_delays=DEFAULT_RULES.buffer_delays)
    network = mapped(drawn_circuit(Random(seed), ands=14, outputs=4))
    layout = painted(placed(network, rounds=10), joints=joint, rules=rules)
    found = found_in(layout, network, rules)
    gates = [piece for piece in found.pieces if piece.kind is PieceKind.GATE]
    constants = sum(shown == "" for shown in network.outputs.values())
    assert len(gates) == len(network.gates) + constants
    held = [cell for piece in found.pieces for cell in piece.cells]
    assert sorted(held) == list(layout.cells)
    # Names may be exchanged among signals of the same value, but each gate reads as many as one.
    read = sorted(len(gate.reads) for gate in gates)
    assert read == sorted([len(gate.reads) for gate in network.gates] + [0] * constants)
    for gate in gates:
        inverters = [cell for cell in gate.cells if layout.cells[cell].part is Part.INVERTER]
        assert len(inverters) == max(1, len(gate.reads))
    assert layout.replace(pieces=found.pieces).pieces == found.pieces


def test_ticks_bound_what_the_three_valued_play_finds() -> None:
    network = mapped(drawn_circuit(Random(3), inputs=5, ands=20, outputs=4))
    layout = painted(placed(network, rounds=20))
    found = found_in(layout, network)
    settled = settle(layout)
    for piece in found.pieces:
        tick = found.until[piece.title]
        for cell in piece.cells:
            if layout.cells[cell].part in (Part.INVERTER, Part.BUFFER):
                assert settled.surely(cell, tick) == settled.possibly(cell, tick)
        assert found.since[piece.title] <= tick


def test_a_longest_way_goes_on_a_tick_at_a_time_and_ends_at_the_delay() -> None:
    network = mapped(drawn_circuit(Random(5), inputs=6, ands=30, outputs=3))
    layout = painted(placed(network, rounds=20))
    read = network_of(layout)
    assert isinstance(read, Network)
    way = found_in(layout, network).critical
    assert [step.tick for step in way] == list(range(read.delay + 1))
    assert way[0].piece.startswith("input ")
    assert way[0].at is None
    titles = {piece.title for piece in found_in(layout, network).pieces}
    assert {step.piece for step in way[1:]} <= titles


def test_a_signal_without_a_known_value_gets_a_name_of_its_own() -> None:
    network = mapped(Circuit("both", ("a", "b"), ((2, 4),), {"p": 6}))
    layout = painted(placed(network, rounds=0))
    read = network_of(layout)
    assert isinstance(read, Network)
    masks = dict(zip(network.inputs, input_masks(2), strict=True))
    pieces = pieces_of(layout, read, masks, 15, {"w1": 0}).pieces
    gates = [piece.name for piece in pieces if piece.kind is PieceKind.GATE]
    assert gates == ["w2", "w3"]
    assert {piece.name for piece in pieces if piece.kind is PieceKind.WIRE} <= {
        *network.inputs,
        *gates,
    }


@pytest.mark.parametrize("joint", Joint)
def test_a_constant_is_a_gate_that_reads_nothing(joint: Joint) -> None:
    network = mapped(Circuit("odd", ("a",), (), {"p": 2, "t": 1}))
    found = found_in(painted(placed(network, rounds=0), joints=joint), network)
    assert sum(not p.reads for p in found.pieces if p.kind is PieceKind.GATE) == 1


def test_gates_that_share_an_inverter_read_what_it_reads() -> None:
    """A layout of c17 of ISCAS-85, built and shrunk until two gates share an inverter."""
    circuit = read_circuit(TESTS.parent / "benchmarks" / "circuits" / "c17.eqn")
    layout = Layout.load(TESTS / "data" / "c17.json")
    network = mapped(circuit)
    found = found_in(layout, network)
    masks = dict(zip(network.inputs, input_masks(5), strict=True))
    full = (1 << 32) - 1
    values = network.values(masks, full)
    gates = [piece for piece in found.pieces if piece.kind is PieceKind.GATE]
    inverters = sum(block.part is Part.INVERTER for block in layout.cells.values())
    assert inverters < sum(len(gate.reads) for gate in gates)
    for gate in gates:
        both = full
        for read in gate.reads:
            both &= values[read]
        assert values[gate.name] == full & ~both
        assert found.since[gate.title] < found.until[gate.title]
