"""How much of a layout a drawing shows: all of it, a stage of the building, or what has power."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence, Set
from dataclasses import dataclass, field
from itertools import product

from synth.layout import Layout
from synth.medium import DEFAULT_RULES, Cell, Part, Rules


@dataclass(frozen=True, slots=True)
class Window:
    """A part of the box that a picture is cut down to, so that it stays large enough to read.

    Attributes:
        low: the first cell shown along x, y and z.
        high: the first cell beyond it.
    """

    low: Cell
    high: Cell

    @staticmethod
    def all_of(layout: Layout) -> Window:
        """The whole box."""
        return Window((0, 0, 0), layout.size)

    def holds(self, cell: Cell) -> bool:
        """Whether a cell is shown."""
        return all(a <= at < b for a, at, b in zip(self.low, cell, self.high, strict=True))

    def cells_of(self, layout: Layout) -> Iterator[Cell]:
        """The cells shown that hold a part, by x, y, z; quick for a small window of a large box."""
        across, up, high = self.size
        if across * up * high > len(layout.cells):
            yield from filter(self.holds, layout.cells)
            return
        (x0, y0, z0), (x1, y1, z1) = self.low, self.high
        for x, y, z in product(range(x0, x1), range(y0, y1), range(z0, z1)):
            if (x, y, z) in layout.cells:
                yield (x, y, z)

    @property
    def size(self) -> tuple[int, int, int]:
        """Cells along x, y and z."""
        (x0, y0, z0), (x1, y1, z1) = self.low, self.high
        return (x1 - x0, y1 - y0, z1 - z0)


@dataclass(frozen=True, slots=True)
class Shown:
    """How much of a layout a picture shows.

    Attributes:
        cells: the cells whose parts are drawn; None for all.
        new: cells whose parts are marked as new, such as those that a step of a plan adds.
        power: the power of each cell, as ``symbols.symbol`` takes it; cells left out have none.
        strengths: the strengths to write on wires.
        signs: cells whose parts are framed in plans, each with a sign in its corner.
    """

    cells: Set[Cell] | None = None
    new: Set[Cell] = frozenset()
    power: Mapping[Cell, float] = field(default_factory=dict)
    strengths: Mapping[Cell, int] = field(default_factory=dict)
    signs: Mapping[Cell, str] = field(default_factory=dict)

    @staticmethod
    def of_tick(
        layout: Layout,
        tick: Mapping[str, Sequence[Sequence[int]]],
        driven: Set[Cell] = frozenset(),
        rules: Rules = DEFAULT_RULES,
    ) -> Shown:
        """What has power at one entry of ``ticks`` of a trace document.

        Args:
            driven: the solids that are driven; all other charged solids are drawn as charged.
        """
        power: dict[Cell, float] = {}
        for key in ("charged", "on"):
            for x, y, z in tick[key]:
                power[(x, y, z)] = 2 if (x, y, z) in driven else 1
        strengths = {(x, y, z): value for x, y, z, value in tick["wires"] if value}
        for cell, value in strengths.items():
            if layout.cells[cell].part is Part.WIRE:
                power[cell] = value / rules.reach
        return Shown(power=power, strengths=strengths)
