"""The layers of a layout as flat plans, one SVG drawing each."""

from __future__ import annotations

from html import escape

from synth.layout import Layout, Pin
from synth.medium import Block, Cell, Direction, Part, Role
from synth.simulator import touch
from synth.simulator.row import Row
from synth.views.page.data import title_of
from synth.views.page.symbols import PATTERNS, UNIT, caption, symbol

_LABEL = 26
_MARGIN = 6


def plans_html(layout: Layout) -> str:
    """All layers, lowest first, as figures; cells carry ``data-cell``, their number on the page."""
    row = Row(layout)
    number = {cell: index for index, cell in enumerate(layout.cells)}
    pins = {pin.outside: (len(number) + index, pin) for index, pin in enumerate(layout.pins)}
    definitions = f'<svg class="defs" aria-hidden="true"><defs>{PATTERNS}</defs></svg>'
    return definitions + "".join(
        _Plan(layout, row, number, pins).figure(z) for z in range(layout.height)
    )


class _Plan:
    """Draws layers, all to one scale and with the same margins so that they line up."""

    def __init__(
        self,
        layout: Layout,
        row: Row,
        number: dict[Cell, int],
        pins: dict[Cell, tuple[int, Pin]],
    ) -> None:
        self.layout = layout
        self.row = row
        self.number = number
        self.pins = pins
        faces = {pin.face for pin in layout.pins}
        self.left = _LABEL + (UNIT if Direction.NX in faces else 0)
        self.right = _MARGIN + (UNIT if Direction.PX in faces else 0)
        self.top = _MARGIN + (UNIT if Direction.PY in faces else 0)
        self.bottom = _LABEL + (UNIT if Direction.NY in faces else 0)
        self.wide = self.left + layout.length * UNIT + self.right
        self.high = self.top + layout.width * UNIT + self.bottom

    def figure(self, z: int) -> str:
        """One layer with its caption."""
        layout = self.layout
        rows = reversed(range(layout.width))
        cells = [self._cell((x, y, z)) for y in rows for x in range(layout.length)]
        pins = [self._pin(cell) for cell in self.pins if cell[2] == z]
        return (
            f'<figure class="plan" data-layer="{z}" style="--units:{self.wide}">'
            f"<figcaption>z = {z}</figcaption>"
            f'<svg viewBox="0 0 {self.wide} {self.high}" role="group" '
            f'aria-label="Layer z = {z}, seen from above">'
            f"{self._frame()}{''.join(cells)}{''.join(pins)}</svg></figure>"
        )

    def _corner(self, cell: Cell) -> tuple[int, int]:
        """The upper left corner of a cell on the page."""
        return (
            self.left + cell[0] * UNIT,
            self.top + (self.layout.width - 1 - cell[1]) * UNIT,
        )

    def _frame(self) -> str:
        layout = self.layout
        wide, high = layout.length * UNIT, layout.width * UNIT
        lines = "".join(
            f"M{self.left + x * UNIT} {self.top}v{high}" for x in range(1, layout.length)
        )
        lines += "".join(
            f"M{self.left} {self.top + y * UNIT}h{wide}" for y in range(1, layout.width)
        )
        names = "".join(
            f'<text class="axis" x="{self.left + x * UNIT + UNIT / 2:g}" '
            f'y="{self.high - 8}">{"x = " if x == 0 else ""}{x}</text>'
            for x in range(layout.length)
        )
        names += "".join(
            f'<text class="axis" x="12" '
            f'y="{self._corner((0, y, 0))[1] + UNIT / 2 + 5:g}">{y}</text>'
            for y in range(layout.width)
        )
        return (
            f'<path class="grid" d="{lines}"/>'
            f'<rect class="frame" x="{self.left}" y="{self.top}" width="{wide}" height="{high}"/>'
            f'{names}<text class="axis" x="12" y="{self.high - 8}">y</text>'
        )

    def _cell(self, cell: Cell) -> str:
        block = self.layout.cells.get(cell)
        if block is None:
            return ""
        return self._group(cell, block, self.number[cell], title_of(block, cell), self._art(cell))

    def _art(self, cell: Cell) -> str:
        block = self.row.block(cell)
        assert block is not None
        if block.part is not Part.WIRE:
            if cell not in self.pins:
                return symbol(block)
            # Lower, to leave room for the name of the pin.
            return f'<g transform="translate(0 9)">{symbol(block, outside=True)}</g>'
        linked = [(way, other[2] - cell[2]) for other, way, _, _ in touch.links(self.row, cell)]
        return symbol(
            block,
            touch.runs(self.row, cell),
            {way for way, rise in linked if rise > 0},
            {way for way, rise in linked if rise < 0},
        )

    def _pin(self, cell: Cell) -> str:
        """What stands outside a pin, with the way its signal goes and its name."""
        number, pin = self.pins[cell]
        title = f"{pin.role} {pin.name}, joint {pin.joint}"
        way = pin.face if pin.role is Role.OUTPUT else pin.face.opposite
        arrow = {"+x": "\u2192", "-x": "\u2190", "+y": "\u2191", "-y": "\u2193"}[str(way)]
        # A name that is too long for the cell is drawn narrower, never cut.
        fit = (
            f'textLength="{UNIT - 4}" lengthAdjust="spacingAndGlyphs" ' if len(pin.name) > 5 else ""
        )
        name = f'<text class="pin" x="30" y="13" {fit}>{escape(pin.name)}</text>'
        name += f'<text class="arrow" x="11" y="57">{arrow}</text>'
        return self._group(cell, None, number, title, self._art(cell) + name, outside=True)

    def _group(
        self,
        cell: Cell,
        block: Block | None,
        number: int,
        title: str,
        art: str,
        *,
        outside: bool = False,
    ) -> str:
        x, y = self._corner(cell)
        below = caption(block) if block is not None else ""
        text = f'<text class="facing" x="30" y="57">{below}</text>' if below else ""
        kind = "outside" if outside else "inside"
        return (
            f'<g class="cell {kind}" data-cell="{number}" transform="translate({x} {y})" '
            f'tabindex="-1" role="button" aria-label="{escape(title)}">'
            f'<rect class="ground" width="{UNIT}" height="{UNIT}"/>'
            f'{art}{text}<text class="value" x="57" y="{57 if outside else 13}"></text></g>'
        )
