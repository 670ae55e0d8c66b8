"""The netlist says the same of a layout's signals as the encoding does."""

from __future__ import annotations

from random import Random

from hypothesis import given, settings
from hypothesis import strategies as st

from synth.building.annealing import placed
from synth.building.mapping import mapped
from synth.building.painting import painted
from synth.building.sampled import sampled
from synth.circuits.judging import judge
from synth.encoding.windows import Labels, labels_of, promises_of
from synth.encoding.windows.labels import Label
from synth.encoding.windows.promises import Place
from synth.medium import Joint, Part
from synth.shrinking.netlist import Netlist
from synth.spec import PinDemand, Spec
from tests.circuits.drawn import drawn_circuit


def given_by(labels: Labels) -> dict[Place, Label]:
    return {place: labels.signals[number] for place, number in labels.devices.items()}


def carried_by(labels: Labels) -> dict[Place, set[Label]]:
    return {
        place: {label for n, label in enumerate(labels.signals) if mask >> n & 1}
        for place, mask in labels.carried.items()
    }


@settings(max_examples=8)
@given(st.integers(0, 2**32), st.sampled_from(list(Joint)))
def test_signals_and_idle_parts_are_those_of_the_encoding(seed: int, joint: Joint) -> None:
    rng = Random(seed)
    circuit = drawn_circuit(rng, ands=8, outputs=2)
    layout = painted(placed(mapped(circuit), rounds=0), joints=joint)
    names = {name: name for name in (*circuit.inputs, *circuit.outputs)}
    judgement = judge(layout, circuit, names, play=False)
    assert judgement.network is not None
    assert judgement.delay is not None
    spec = Spec(
        sampled(circuit, judgement.network, names),
        pins={pin.name: PinDemand(joint=pin.joint) for pin in layout.pins},
    )
    netlist = Netlist.of(layout)
    assert netlist is not None
    mine = netlist.labels(spec.function)
    other = labels_of(layout, spec, judgement.delay)
    assert given_by(mine) == given_by(other)
    assert carried_by(mine) == carried_by(other)
    resting = promises_of(layout, spec, judgement.delay)
    for cell in netlist.idle():
        assert layout.cells[cell].part in (Part.WIRE, Part.INVERTER, Part.BUFFER)
        assert resting.rests_on_nothing((str(layout.cells[cell].part), cell))
