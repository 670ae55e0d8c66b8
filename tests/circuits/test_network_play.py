"""The play on the network is the play on the fabric, emitter by emitter and tick by tick."""

from __future__ import annotations

from dataclasses import replace
from itertools import zip_longest
from pathlib import Path
from random import Random

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from synth.building.annealing import placed
from synth.building.mapping import mapped
from synth.building.painting import painted
from synth.circuits.circuit import Circuit
from synth.circuits.network_play import Emitted, play_network
from synth.circuits.reading.read import read_circuit
from synth.circuits.ticks import tried, tried_on_network
from synth.layout import Layout
from synth.medium import DEFAULT_RULES, Joint, Part
from synth.simulator.acyclic import Network, network_of
from synth.simulator.fabric import fabric_of
from synth.simulator.settling import input_masks, play_unknown
from tests.circuits.drawn import drawn_circuit

ROOT = Path(__file__).parents[2]
STORED = [
    *sorted((ROOT / "benchmarks" / "records").glob("*_layout.json")),
    *sorted((ROOT / "tests" / "data").glob("*.json")),
]


def read(layout: Layout) -> Network:
    network = network_of(layout)
    assert isinstance(network, Network)
    return network


def delayed(layout: Layout, draw: Random) -> Layout:
    """The same with buffers of drawn delays."""
    cells = {
        cell: replace(block, delay=draw.choice(DEFAULT_RULES.buffer_delays))
        if block.part is Part.BUFFER
        else block
        for cell, block in layout.cells.items()
    }
    return layout.replace(cells=cells)


def plays_alike(layout: Layout, network: Network) -> None:
    """Hold both plays of all assignments against each other."""
    count = len(layout.inputs)
    full = (1 << (1 << count)) - 1
    masks = dict(zip((pin.name for pin in layout.inputs), input_masks(count), strict=True))
    fabric = fabric_of(layout)
    inputs = [(masks[port.pin.name], masks[port.pin.name]) for port in fabric.inputs]
    emitters = len(network.elements) + len(network.inputs)
    last: Emitted | None = None
    for both, emitted in zip_longest(
        play_unknown(fabric, DEFAULT_RULES, full, inputs), play_network(network, masks, full)
    ):
        # The fabric plays on for as long as a buffer may look back; all is known by then.
        assert both is not None
        last = emitted or last
        assert last is not None
        assert last.sure == tuple(both.sure.on[:emitters])
        assert last.possible == tuple(both.possible.on[:emitters])
        for port in fabric.outputs:
            shown = (both.sure.seen(port.sight), both.possible.seen(port.sight))
            assert last.seen(network.outputs[port.pin.name]) == shown
    assert last is not None
    assert last.sure == last.possible


@settings(max_examples=25)
@given(st.integers(0, 2**32), st.sampled_from(list(Joint)))
def test_every_tick_is_that_of_the_fabric(seed: int, joint: Joint) -> None:
    draw = Random(seed)
    circuit = drawn_circuit(draw, inputs=5, ands=16, outputs=4)
    layout = painted(placed(mapped(circuit), rounds=3), joints=joint)
    plays_alike(layout, read(layout))
    slower = delayed(layout, draw)
    plays_alike(slower, read(slower))


@settings(max_examples=25)
@given(st.integers(0, 2**32), st.sampled_from(list(Joint)))
def test_outputs_are_right_from_the_same_tick(seed: int, joint: Joint) -> None:
    draw = Random(seed)
    circuit = drawn_circuit(draw, inputs=5, ands=16, outputs=4)
    layout = delayed(painted(placed(mapped(circuit), rounds=3), joints=joint), draw)
    pins = {name: name for name in (*circuit.inputs, *circuit.outputs)}
    assert tried_on_network(read(layout), circuit, pins) == tried(layout, circuit, pins)


@pytest.mark.parametrize("joint", Joint)
def test_constants_are_known_when_the_fabric_knows_them(joint: Joint) -> None:
    circuit = Circuit("odd", ("a", "b"), ((2, 4),), {"p": 2, "q": 6, "s": 0, "t": 1})
    layout = painted(placed(mapped(circuit), rounds=0), joints=joint)
    pins = {name: name for name in (*circuit.inputs, *circuit.outputs)}
    network = read(layout)
    plays_alike(layout, network)
    found = tried_on_network(network, circuit, pins)
    assert found == tried(layout, circuit, pins)
    assert found.delay is not None


def test_an_output_that_is_wrong_is_right_from_no_tick() -> None:
    circuit = Circuit("both", ("a", "b"), ((2, 4),), {"p": 6, "q": 2})
    other = Circuit("other", ("a", "b"), ((2, 4),), {"p": 7, "q": 2})
    layout = painted(placed(mapped(circuit), rounds=0))
    pins = {name: name for name in (*circuit.inputs, *circuit.outputs)}
    found = tried_on_network(read(layout), other, pins)
    assert found == tried(layout, other, pins)
    assert found.right_from["p"] is None
    assert found.right_from["q"] is not None


def test_assignments_at_random_are_the_same_ones() -> None:
    names = [f"a{index}" for index in range(13)]
    circuit = Circuit("both", tuple(names), ((2, 4), (28, 26)), {"p": 26, "q": 29})
    layout = painted(placed(mapped(circuit), rounds=0))
    pins = {name: name for name in (*circuit.inputs, *circuit.outputs)}
    found = tried_on_network(read(layout), circuit, pins)
    assert not found.every
    assert found == tried(layout, circuit, pins)


def test_the_layout_of_a_benchmark_gives_the_ticks_of_the_fabric() -> None:
    circuit = read_circuit(ROOT / "benchmarks" / "circuits" / "c17.eqn")
    layout = Layout.load(ROOT / "tests" / "data" / "c17.json")
    pins = {name: name for name in (*circuit.inputs, *circuit.outputs)}
    assert tried_on_network(read(layout), circuit, pins) == tried(layout, circuit, pins)


@pytest.mark.parametrize("path", STORED, ids=lambda path: path.stem)
def test_stored_layouts_play_alike(path: Path) -> None:
    layout = Layout.load(path)
    network = network_of(layout)
    if not isinstance(network, Network):
        pytest.skip(network.reason)
    plays_alike(layout, network)
    for seed in range(3):
        slower = delayed(layout, Random(seed))
        plays_alike(slower, read(slower))
