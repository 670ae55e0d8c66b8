"""When things are known is what the play finds, and so is the way to the last of them."""

from __future__ import annotations

from itertools import pairwise
from random import Random

from hypothesis import given, settings
from hypothesis import strategies as st

from synth.building.annealing import placed
from synth.building.mapping import mapped
from synth.building.painting import painted
from synth.circuits.arrivals import arrivals
from synth.layout import Layout
from synth.medium import Joint
from synth.simulator import check
from synth.simulator.acyclic import Network, network_of
from synth.simulator.settling import input_masks, settle
from tests.circuits.drawn import drawn_circuit


def read(layout: Layout) -> tuple[Network, dict[str, int], int]:
    """Its netlist, and all assignments."""
    network = network_of(layout)
    assert isinstance(network, Network)
    names = [pin.name for pin in layout.inputs]
    return (
        network,
        dict(zip(names, input_masks(len(names)), strict=True)),
        (1 << (1 << len(names))) - 1,
    )


@settings(max_examples=25)
@given(st.integers(0, 2**32), st.sampled_from(list(Joint)))
def test_ticks_are_those_of_the_play(seed: int, joint: Joint) -> None:
    network = mapped(drawn_circuit(Random(seed), inputs=4, ands=20, outputs=3))
    layout = painted(placed(network, rounds=5), joints=joint)
    netlist, masks, full = read(layout)
    cells = [*netlist.order]
    found = arrivals(netlist, masks, full, [(number,) for number in cells])
    settled = settle(layout)
    for name, shown in netlist.outputs.items():
        tick = found.known[shown]
        assert settled.surely_reads(name, tick) == settled.possibly_reads(name, tick)
        if tick:
            before = tick - 1
            assert settled.surely_reads(name, before) != settled.possibly_reads(name, before)
    assert max(found.known[shown] for shown in netlist.outputs.values()) == check(layout).delay
    for number in cells:
        assert found.known[number,] <= netlist.elements[number].known_at


@settings(max_examples=25)
@given(st.integers(0, 2**32), st.sampled_from(list(Joint)))
def test_the_way_ends_at_the_delay_and_each_step_waits_for_the_one_before(
    seed: int, joint: Joint
) -> None:
    network = mapped(drawn_circuit(Random(seed), inputs=4, ands=20, outputs=3))
    layout = painted(placed(network, rounds=5), joints=joint)
    netlist, masks, full = read(layout)
    way = arrivals(netlist, masks, full, []).way
    delay = check(layout).delay
    if not way:
        assert not delay
        return
    assert way[-1][1] == delay
    assert way[0][0] in netlist.inputs.values() or not netlist.elements[way[0][0]].sees
    for (one, before), (other, tick) in pairwise(way):
        assert one in netlist.elements[other].sees
        # All buffers of this painter are of one tick.
        assert tick == before + 1
