"""Judging and the miter: right layouts pass, mutants of another function are seen."""

from __future__ import annotations

from random import Random

import pytest
from pysat.solvers import Solver

from synth.building.annealing import placed
from synth.building.mapping import mapped
from synth.building.painting import painted
from synth.circuits.circuit import Circuit
from synth.circuits.judging import judge
from synth.circuits.miter import Miter
from synth.layout import Layout
from synth.medium import Part
from tests.circuits.drawn import drawn_circuit


def pins(circuit: Circuit) -> dict[str, str]:
    return {name: name for name in (*circuit.inputs, *circuit.outputs)}


def laid_out(circuit: Circuit) -> Layout:
    return painted(placed(mapped(circuit), rounds=0))


def differs(circuit: Circuit, layout: Layout) -> bool | None:
    """What a solver says of the miter; None if there is none."""
    judgement = judge(layout, circuit, pins(circuit), play=False)
    if judgement.network is None:
        return None
    with Solver(bootstrap_with=Miter(circuit, judgement.network, pins(circuit)).clauses) as solver:
        answer: bool = solver.solve()
    return answer


@pytest.mark.parametrize("seed", range(25))
def test_the_miter_says_what_the_play_of_every_assignment_says(seed: int) -> None:
    draw = Random(seed)
    circuit = drawn_circuit(draw)
    layout = laid_out(circuit)
    assert differs(circuit, layout) is False
    assert judge(layout, circuit, pins(circuit)).played
    cells = [cell for cell, block in layout.cells.items() if block.part is not Part.LEDGE]
    for cell in draw.sample(cells, min(6, len(cells))):
        left = dict(layout.cells)
        del left[cell]
        mutant = layout.replace(cells=left)
        judgement = judge(mutant, circuit, pins(circuit))
        if judgement.network is not None:
            assert differs(circuit, mutant) is not judgement.played
        else:
            assert judgement.faults or judgement.played


def test_other_pins_are_a_fault() -> None:
    circuit = drawn_circuit(Random(1))
    layout = laid_out(circuit)
    renamed = {name: f"{name}_" for name in pins(circuit)}
    assert "its pins are" in judge(layout, circuit, renamed).faults[0]
