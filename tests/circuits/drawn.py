"""Circuits drawn at random."""

from __future__ import annotations

from random import Random

from synth.circuits.circuit import Circuit, CircuitBuilder
from synth.simulator.settling import input_masks


def drawn_circuit(draw: Random, inputs: int = 4, ands: int = 12, outputs: int = 2) -> Circuit:
    """A circuit of random ANDs, exclusive-ors and choices."""
    builder = CircuitBuilder([f"a{index}" for index in range(draw.randint(1, inputs))])
    literals = [0, *(builder.input(index) for index in range(len(builder.inputs)))]
    for _ in range(draw.randint(0, ands)):
        one, other, third = (draw.choice(literals) ^ draw.getrandbits(1) for _ in range(3))
        make = draw.randrange(4)
        if make == 0:
            literals.append(builder.exclusive_or(one, other))
        elif make == 1:
            literals.append(builder.choice(one, other, third))
        else:
            literals.append(builder.conjunction(one, other))
    shown = {
        f"q{index}": draw.choice(literals) ^ draw.getrandbits(1)
        for index in range(draw.randint(1, outputs))
    }
    return builder.circuit("drawn", shown)


def columns(circuit: Circuit) -> dict[str, int]:
    """What the outputs show in every assignment."""
    count = len(circuit.inputs)
    return circuit.evaluate(input_masks(count), (1 << (1 << count)) - 1)
