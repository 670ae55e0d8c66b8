"""A bound on the number of parts (the measure ``parts`` of section 9)."""

from __future__ import annotations

from collections.abc import Sequence

from synth.encoding.formula import FALSE, Formula
from synth.encoding.statics import Statics
from synth.medium import LEVEL_DIRECTIONS, Cell


def at_most_parts(
    formula: Formula, statics: Statics, most: int, cells: Sequence[Cell] | None = None
) -> None:
    """Section 9: allow at most ``most`` of some cells (None: of all) not to be empty.

    By a sequential counter:

    ``("parts", i, j)`` is true if more than ``j`` of the first ``i + 1`` cells hold a part.
    Source: C. Sinz, Towards an Optimal CNF Encoding of Boolean Cardinality Constraints, CP 2005.

    Medium: 9 parts.
    """
    rule = "9 parts"
    before: list[int] = []
    for index, cell in enumerate(statics.cells if cells is None else cells):
        filled = formula.declare("filled", cell)
        for part in _parts(statics, cell):
            formula.add(rule, [-part, filled])
        if most == 0:
            formula.add(rule, [-filled])
            continue
        counts = [formula.declare("parts", index, number) for number in range(most)]
        formula.add(rule, [-filled, counts[0]])
        for number, earlier in enumerate(before):
            formula.add(rule, [-earlier, counts[number]])
            if number + 1 < most:
                formula.add(rule, [-earlier, -filled, counts[number + 1]])
        if before:
            formula.add(rule, [-before[-1], -filled])
        before = counts


def _parts(statics: Statics, cell: Cell) -> list[int]:
    parts = [statics.solid(cell), statics.insulator(cell), statics.wire(cell)]
    parts.append(statics.any_inverter(cell))
    parts += [statics.buffer(cell, direction) for direction in LEVEL_DIRECTIONS]
    return [part for part in parts if part != FALSE]
