"""A block of cells, and where its parts go when it is turned, mirrored or moved."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

from synth import fields
from synth.desk.design import require_inside
from synth.errors import InputError
from synth.layout import Layout
from synth.layout.transform import Symmetry
from synth.medium import AXES, Block, Cell, shifted
from synth.medium_document import read_cell

Way = Callable[[Cell, Block], tuple[Cell, Block]]
"""Where a part goes, and how it is turned there."""


@dataclass(frozen=True, slots=True)
class Box:
    """The cells from ``low`` to ``high``, both included."""

    low: Cell
    high: Cell

    def holds(self, cell: Cell) -> bool:
        """Whether a cell is one of them."""
        bounds = zip(self.low, cell, self.high, strict=True)
        return all(low <= at <= high for low, at, high in bounds)

    def shift(self, by: Cell) -> Way:
        """Everything moved by so many cells."""

        def way(cell: Cell, block: Block) -> tuple[Cell, Block]:
            return shifted(cell, by), block

        return way

    def mirror(self, axis: str) -> Way:
        """Everything counted from the other end of the block along ``axis``."""
        index = AXES.index(axis)

        def way(cell: Cell, block: Block) -> tuple[Cell, Block]:
            at = list(cell)
            at[index] = self.low[index] + self.high[index] - at[index]
            facing = block.facing
            if facing is not None and facing.axis == axis:
                block = replace(block, facing=facing.opposite)
            return (at[0], at[1], at[2]), block

        return way

    def turn(self, quarters: int) -> Way:
        """Everything turned about z, from +x to +y; the block keeps its lowest corner."""
        wide, deep = (self.high[axis] - self.low[axis] for axis in (0, 1))
        turned = Symmetry(quarters % 4, mirror=False)

        def way(cell: Cell, block: Block) -> tuple[Cell, Block]:
            x, y = cell[0] - self.low[0], cell[1] - self.low[1]
            span = (wide, deep)
            for _ in range(quarters % 4):
                x, y = span[1] - y, x
                span = (span[1], span[0])
            if block.facing is not None:
                block = replace(block, facing=turned.way(block.facing))
            return (self.low[0] + x, self.low[1] + y, cell[2]), block

        return way


def read_box(value: object, place: str, layout: Layout) -> Box:
    """A block as ``[[x, y, z], [x, y, z]]``, any two opposite corners of it.

    Raises:
        InputError: if it is none, or lies outside the box of the layout.
    """
    corners = fields.items(value, place)
    if len(corners) != 2:
        raise InputError(f"{fields.shown(value)} is no block: two corners", place=place)
    one, other = (read_cell(corner, fields.under(place, n)) for n, corner in enumerate(corners))
    require_inside(layout, (one, other))
    low = tuple(min(pair) for pair in zip(one, other, strict=True))
    high = tuple(max(pair) for pair in zip(one, other, strict=True))
    return Box((low[0], low[1], low[2]), (high[0], high[1], high[2]))
