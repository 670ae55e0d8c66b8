"""Where things can be: the cells of the box, the faces pins may sit on, the next copies."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import NamedTuple

from synth.medium import AXES, LEVEL_DIRECTIONS, Cell, Direction, Size


class Slot(NamedTuple):
    """A place for a pin: a cell at the edge and a level face that leads out of the box."""

    cell: Cell
    face: Direction

    @property
    def lane(self) -> int:
        """The coordinate along the side (section 6)."""
        return self.cell[1] if self.face.axis == "x" else self.cell[0]

    @property
    def height(self) -> int:
        """The height of the cell."""
        return self.cell[2]


@dataclass(frozen=True)
class Geometry:
    """A box of ``size`` cells, on ground or not, stacked along ``axis`` at ``pitch`` or not."""

    size: Size
    ground: bool = False
    axis: str | None = None
    pitch: int = 0

    @property
    def cells(self) -> list[Cell]:
        """Every cell, by x, then y, then z."""
        length, width, height = self.size
        return [(x, y, z) for x in range(length) for y in range(width) for z in range(height)]

    @cached_property
    def within(self) -> frozenset[Cell]:
        """The cells as a set: what lies in it is asked very often while a formula is written."""
        return frozenset(self.cells)

    def inside(self, cell: Cell) -> bool:
        """Whether ``cell`` lies in the box."""
        return cell in self.within

    def in_other_copy(self, cell: Cell) -> Cell | None:
        """Section 7: the cell of the next copy that lies at ``cell``, in that copy's coordinates.

        None if ``cell`` lies in this box, or in no copy. Only cells one step outside are
        ever asked for, so only the next copies on both sides matter.
        """
        if self.axis is None or cell in self.within:
            return None
        index = AXES.index(self.axis)
        for shift in (self.pitch, -self.pitch):
            moved = list(cell)
            moved[index] += shift
            other = (moved[0], moved[1], moved[2])
            if self.inside(other):
                return other
        return None

    def slots(self) -> list[Slot]:
        """Section 6: every place for a pin, by cell, then face: where a level face leads out.

        Medium: 6 faces.
        """
        return [
            Slot(cell, face)
            for cell in self.cells
            for face in LEVEL_DIRECTIONS
            if not self.inside(face.step(cell))
        ]

    def supports_at_floor(self, cell: Cell) -> bool:
        """Section 8: what stands in ``cell`` stands on ground.

        Medium: 8 ground.
        """
        return self.ground and cell[2] == 0
