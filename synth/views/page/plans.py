"""The layers of a layout as flat plans, one SVG drawing each."""

from __future__ import annotations

from collections.abc import Mapping, Sequence, Set
from dataclasses import dataclass

from markupsafe import Markup

from synth.layout import Layout
from synth.medium import Cell, Direction, Part, Role
from synth.simulator.row import Row
from synth.views.page.data import title_of
from synth.views.page.symbols import PATTERNS, UNIT, caption, symbol
from synth.views.page.touches import Touches
from synth.views.templating import drawn, render

_LABEL = 26
_MARGIN = 6


def plans_html(layout: Layout, number: Mapping[Cell, int], faulty: Set[Cell]) -> str:
    """All layers, lowest first, as figures.

    Args:
        layout: the layout to draw.
        number: the number of each cell on the page; its drawing carries it as ``data-cell``.
        faulty: the cells that faults name.
    """
    drawer = _Drawer(layout, number, faulty)
    return render(
        "page/plans.html",
        patterns=drawn(PATTERNS),
        unit=UNIT,
        plans=[drawer.plan(z) for z in range(layout.height)],
    )


@dataclass(frozen=True, slots=True)
class _Drawn:
    """A cell of a plan: its upper left corner, what it shows and what it is called."""

    number: int
    x: int
    y: int
    kind: str
    title: str
    art: Markup
    caption: str = ""
    pin: str = ""
    arrow: str = ""


@dataclass(frozen=True, slots=True)
class _Plan:
    """One layer; lengths in units of the drawing."""

    z: int
    wide: int
    high: int
    left: int
    top: int
    across: int
    down: int
    grid: str
    axes: Sequence[tuple[str, float, float]]
    cells: Sequence[_Drawn]


class _Drawer:
    """Draws all layers to one scale and with the same margins, so that they line up."""

    def __init__(self, layout: Layout, number: Mapping[Cell, int], faulty: Set[Cell]) -> None:
        self.layout = layout
        self.touches = Touches(Row(layout))
        self.number = number
        self.faulty = faulty
        self.pins = {pin.outside: pin for pin in layout.pins}
        faces = {pin.face for pin in layout.pins}
        self.left = _LABEL + (UNIT if Direction.NX in faces else 0)
        self.right = _MARGIN + (UNIT if Direction.PX in faces else 0)
        self.top = _MARGIN + (UNIT if Direction.PY in faces else 0)
        self.bottom = _LABEL + (UNIT if Direction.NY in faces else 0)
        self.wide = self.left + layout.length * UNIT + self.right
        self.high = self.top + layout.width * UNIT + self.bottom

    def plan(self, z: int) -> _Plan:
        """One layer: its frame, its cells and the pins at its edge."""
        layout = self.layout
        across, down = layout.length * UNIT, layout.width * UNIT
        columns = (f"M{self.left + x * UNIT} {self.top}v{down}" for x in range(1, layout.length))
        rows = (f"M{self.left} {self.top + y * UNIT}h{across}" for y in range(1, layout.width))
        there = [
            (x, y, z)
            for y in reversed(range(layout.width))
            for x in range(layout.length)
            if (x, y, z) in layout.cells or (x, y, z) in self.faulty
        ]
        cells = [self._cell(cell) for cell in there]
        cells += [self._pin(cell) for cell in self.pins if cell[2] == z]
        return _Plan(
            z,
            self.wide,
            self.high,
            self.left,
            self.top,
            across,
            down,
            "".join((*columns, *rows)),
            self._axes(),
            cells,
        )

    def _corner(self, cell: Cell) -> tuple[int, int]:
        """The upper left corner of a cell on the page."""
        return (
            self.left + cell[0] * UNIT,
            self.top + (self.layout.width - 1 - cell[1]) * UNIT,
        )

    def _axes(self) -> list[tuple[str, float, float]]:
        low = self.high - 8
        names = [
            (f"{'x = ' if x == 0 else ''}{x}", self.left + x * UNIT + UNIT // 2, low)
            for x in range(self.layout.length)
        ]
        names += [
            (str(y), 12, self._corner((0, y, 0))[1] + UNIT // 2 + 5)
            for y in range(self.layout.width)
        ]
        return [*names, ("y", 12, low)]

    def _cell(self, cell: Cell) -> _Drawn:
        block = self.layout.cells.get(cell)
        if block is None:
            return self._drawn(cell, f"empty cell at ({', '.join(map(str, cell))})")
        return self._drawn(cell, title_of(block, cell), caption=caption(block))

    def _pin(self, cell: Cell) -> _Drawn:
        """What stands outside a pin, with the direction of its signal and its name."""
        pin = self.pins[cell]
        title = f"{pin.role} {pin.name}, joint {pin.joint}"
        way = pin.face if pin.role is Role.OUTPUT else pin.face.opposite
        arrow = {"+x": "\u2192", "-x": "\u2190", "+y": "\u2191", "-y": "\u2193"}[str(way)]
        return self._drawn(cell, title, pin=pin.name, arrow=arrow)

    def _drawn(
        self,
        cell: Cell,
        title: str,
        *,
        caption: str = "",
        pin: str = "",
        arrow: str = "",
    ) -> _Drawn:
        x, y = self._corner(cell)
        kind = "outside" if pin else "inside"
        if cell in self.faulty:
            kind += " is-faulty"
            title += ", at fault"
        return _Drawn(
            self.number[cell],
            x,
            y,
            kind,
            title,
            drawn(art_of(self.touches, cell, outside=cell in self.pins)),
            caption,
            pin,
            arrow,
        )


def art_of(touches: Touches, cell: Cell, *, outside: bool) -> str:
    """The symbol of what stands in a cell, or nothing; ``outside``: whether beyond a pin's face."""
    block = touches.row.block(cell)
    if block is None:
        return ""
    if block.part is not Part.WIRE:
        return symbol(block, outside=outside)
    linked = [(way, other[2] - cell[2]) for other, way, _, _ in touches.links(cell)]
    return symbol(
        block,
        touches.runs(cell),
        {way for way, rise in linked if rise > 0},
        {way for way, rise in linked if rise < 0},
    )
