"""What a decoded layout of a window may be: the formula knows neither ledges nor slow buffers."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from itertools import combinations

from synth.layout import Layout
from synth.medium import CLEAR, LEDGE, Block, Cell, Direction, Part

MOST_CHOICES = 500
"""Up to so many choices of slow buffers are tried of one decoded layout, the smallest first: some
seconds. Those of none and of one buffer are always tried, and so is that of all."""


class Naming:
    """A decoded layout with its insulators as they were, and its slow buffers too as far as may be.

    In the formula clear and ledge are one, and every buffer has the shortest delay.

    Attributes:
        untried: the fewest changes of a layout that was left out of what ``choices`` gave, since
            there are too many; None as long as none was.
    """

    def __init__(self, decoded: Layout, before: Layout, free: frozenset[Cell]) -> None:
        """Tell what is as it was.

        Args:
            decoded: the layout of a model.
            before: the layout that is to be mended.
            free: the cells that might change.
        """
        cells: dict[Cell, Block] = dict(decoded.cells)
        self._slow: dict[Cell, Block] = {}
        for cell in sorted(free & cells.keys() & before.cells.keys()):
            was, now = before.cells[cell], cells[cell]
            if {was.part, now.part} <= {Part.CLEAR, Part.LEDGE}:
                above = cells.get(Direction.PZ.step(cell))
                bears = above is not None and above.part is Part.BUFFER
                cells[cell] = LEDGE if bears or was == LEDGE else CLEAR
            elif was.part is now.part is Part.BUFFER and was.facing is now.facing and was != now:
                self._slow[cell] = was
        self._named = before.replace(cells=cells, pins=decoded.pins)
        self._least = count_of_changes(before, self.layout(()))
        self.untried: int | None = None

    def layout(self, quick: Sequence[Cell]) -> Layout:
        """The layout in which all slow buffers are as they were but for those."""
        return self._named.with_cells(
            {cell: block for cell, block in self._slow.items() if cell not in quick}
        )

    def changes(self, quick: Sequence[Cell]) -> int:
        """How many cells and pins are changed in that layout."""
        return self._least + len(quick)

    def choices(self, fewer_than: int | None) -> Iterator[tuple[Cell, ...]]:
        """Which slow buffers become quick: none, then one, and so on, the fewest changes first.

        Args:
            fewer_than: more changes, or as many, are no help; None: any number is.
        """
        slow, given = tuple(self._slow), 0
        for number in range(len(slow) + 1):
            if fewer_than is not None and self._least + number >= fewer_than:
                return
            given += math.comb(len(slow), number)
            if number > 1 and given > MOST_CHOICES:
                if number < len(slow):
                    self.untried = self._least + number
                yield slow
                return
            yield from combinations(slow, number)


def changed_cells(before: Layout, after: Layout) -> list[Cell]:
    """The cells that hold something else."""
    cells = before.cells.keys() | after.cells.keys()
    return sorted(cell for cell in cells if before.cells.get(cell) != after.cells.get(cell))


def moved_pins(before: Layout, after: Layout) -> list[str]:
    """The names of the pins that sit elsewhere."""
    places = {pin.name: (pin.at, pin.face) for pin in before.pins}
    return [pin.name for pin in after.pins if places[pin.name] != (pin.at, pin.face)]


def count_of_changes(before: Layout, after: Layout) -> int:
    """How many cells hold something else and how many pins sit elsewhere."""
    return len(changed_cells(before, after)) + len(moved_pins(before, after))
