"""A circuit's function in a few assignments only: what windows in its layout are asked with.

A window with labels tells signals apart by the rows in which they are on. All rows of a circuit are
too many, and most tell nothing new. The ones chosen here show, as far as any do, that no two
signals of the layout are the same, and that each inverter and buffer needs each signal that it
sees. Of few inputs all rows are taken: most of what windows find with fewer is wrong in the others.
What a window finds is judged as every layout is: nothing rests on the choice.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from itertools import combinations
from random import Random

from synth.circuits.circuit import Circuit
from synth.simulator.acyclic import Network
from synth.simulator.settling import input_masks
from synth.spec import BooleanFunction

TRIED = 256
"""Assignments at random among which rows are chosen."""

MOST_ROWS = 40
"""Most rows that are chosen."""


@dataclass(frozen=True, slots=True)
class SampledFunction(BooleanFunction):
    """A function of which some assignments are known, numbered from 0.

    Attributes:
        sampled: for each assignment a 0 or 1 an input; columns of outputs have as many characters.
    """

    sampled: tuple[tuple[int, ...], ...] = ()

    def __post_init__(self) -> None:
        if any(len(column) != len(self.sampled) for column in self.outputs.values()):
            raise ValueError(f"outputs need {len(self.sampled)} characters each")

    def __hash__(self) -> int:
        return hash((self.inputs, tuple(self.outputs.items()), self.sampled))

    def __reduce__(self) -> tuple[object, ...]:
        return (SampledFunction, (self.inputs, dict(self.outputs), self.sampled))

    @property
    def rows(self) -> int:
        """The number of assignments that are known."""
        return len(self.sampled)

    def assignments(self) -> Iterator[tuple[int, ...]]:
        """Those assignments."""
        return iter(self.sampled)


def sampled(
    circuit: Circuit, network: Network, pins: Mapping[str, str], seed: int = 0
) -> SampledFunction:
    """A circuit's function in assignments that tell the signals of a layout of it apart.

    Args:
        circuit: what the layout computes.
        network: the layout as the simulator reads it.
        pins: the pin of each input and output of the circuit.
        seed: of the assignments among which rows are chosen.
    """
    count = len(circuit.inputs)
    if 1 << count <= MOST_ROWS:
        rows, masks, full = [*range(1 << count)], input_masks(count), (1 << (1 << count)) - 1
    else:
        rng, full = Random(seed), (1 << TRIED) - 1
        masks = [rng.getrandbits(TRIED) for _ in circuit.inputs]
        by_pin = {pins[name]: mask for name, mask in zip(circuit.inputs, masks, strict=True)}
        rows = _telling(_demands(network, network.values(by_pin, full)))
    outputs = circuit.evaluate(masks, full)
    return SampledFunction(
        tuple(pins[name] for name in circuit.inputs),
        {
            pins[name]: "".join(str(mask >> row & 1) for row in rows)
            for name, mask in outputs.items()
        },
        tuple(tuple(mask >> row & 1 for mask in masks) for row in rows),
    )


def _demands(network: Network, values: list[int]) -> list[int]:
    """Masks of assignments: of each one should be chosen."""
    found = {one ^ other for one, other in combinations(sorted(set(values)), 2)}
    for element in network.elements:
        for needed in element.sees:
            alone = values[needed]
            for other in element.sees:
                if other != needed:
                    alone &= ~values[other]
            found.add(alone)
    return sorted(found - {0})


def _telling(demands: list[int]) -> list[int]:
    """Few assignments that meet all demands, or as many as may be chosen; at least one."""
    chosen: list[int] = []
    while demands and len(chosen) < MOST_ROWS:
        # The rarest demand leaves the least choice: of its assignments the one that meets most.
        rarest = min(demands, key=int.bit_count)
        rows = [row for row in range(TRIED) if rarest >> row & 1]
        best = max(rows, key=lambda row: (sum(mask >> row & 1 for mask in demands), -row))
        chosen.append(best)
        demands = [mask for mask in demands if not mask >> best & 1]
    return sorted(chosen) or [0]
