"""One symbol for each part, as seen from above, in a cell of 40 by 40 units.

The shape says what a part is; filling, thickness, hatching and a number say its state; colour
only repeats both. Shapes are those of logic drawings (IEEE Std 91a distinctive shapes, from
memory): a triangle passes a signal on, a circle at its tip negates. Blocks differ by their frame
and by what is in it, as materials do in a sectional drawing:

- solid: a heavy frame, filled; only a solid that has power is hatched;
- clear: a thin frame with four dots; ledge: a thin frame with two bars;
- wire: a node, and a line in each direction that it runs towards; a chevron at an edge means a link
  to a wire one step up, a bar across an edge one to a wire one step down;
- inverter: a triangle with its flat side on its host and a circle at its tip; one that stands on
  its host points at the reader: a ring with the circle in it;
- buffer: a triangle that points to its front, its delay cut into its back as notches and written
  on it.

With power a wire is thick and its node filled, an inverter or buffer is filled, a solid hatched
(charged) or hatched both ways (driven).
"""

from __future__ import annotations

from collections.abc import Iterable

from synth.medium import Block, Direction, Part
from synth.views.drawing import palette
from synth.views.drawing.shapes import BUFFER_OUTLINE, INVERTER_OUTLINE, notched
from synth.views.drawing.svg import Point, element, lines, path, text

CELL = 40.0
"""Side of a cell in user units."""

_MID = CELL / 2

_ON_PAPER: dict[Direction, Point] = {
    Direction.PX: (1, 0),
    Direction.NX: (-1, 0),
    Direction.PY: (0, -1),
    Direction.NY: (0, 1),
}
"""The direction on the page of each level direction: x to the right, y up."""

LIVE_STYLE = f"""
.s-charged,.s-driven{{visibility:hidden}}
.is-on .s-charged{{visibility:visible}}
.is-driven .s-charged{{visibility:hidden}}
.is-driven .s-driven{{visibility:visible}}
.is-on .s-solid{{fill:var(--draw-on-pale,{palette.ON_PALE})}}
.is-on .s-arm{{stroke:var(--draw-on,{palette.ON});stroke-width:calc(5px + 5px*var(--power-part,1))}}
.is-on .s-step{{stroke:var(--draw-on-line,{palette.ON_LINE})}}
.is-on .s-node{{fill:var(--draw-on-line,{palette.ON_LINE})}}
.is-on .s-node{{stroke:var(--draw-on-line,{palette.ON_LINE})}}
.is-on .s-body{{fill:var(--draw-on,{palette.ON});stroke-width:2.6}}
.is-on .s-bubble{{fill:var(--draw-on-line,{palette.ON_LINE})}}
.is-on .s-number{{fill:var(--draw-on-ink,{palette.ON_INK})!important}}
"""
"""Style of live symbols.

An ancestor has the class ``is-on`` if the part has power, and also ``is-driven`` if it is a driven
solid. ``--power-part`` is the strength of a wire, 0 to 1; it sets the thickness of its lines.
"""


def symbol(
    block: Block,
    runs: Iterable[Direction] = (),
    up: Iterable[Direction] = (),
    down: Iterable[Direction] = (),
    *,
    power: float = 0,
    outside: bool = False,
    live: bool = False,
) -> str:
    """The symbol of a block.

    Args:
        block: what to draw.
        runs: of a wire, the level directions it runs towards (section 3).
        up, down: of a wire, the level directions in which it is linked to one a step up, or a
            step down.
        power: its state: of a wire its strength as a share of the reach; of a solid 1 if charged,
            2 if driven; of an inverter or buffer 1 if on; 0 without power or if nothing is played.
        outside: whether it stands outside a pin: such a buffer has no delay (section 6).
        live: draw it for a page that switches power by ``LIVE_STYLE``; ``power`` is then ignored.
    """
    draw = _Symbol(0 if live else power, live)
    if block.part is Part.SOLID:
        return draw.solid()
    if block.part is Part.CLEAR:
        return draw.clear()
    if block.part is Part.LEDGE:
        return draw.ledge()
    if block.part is Part.WIRE:
        return draw.wire(runs, up, down)
    assert block.facing is not None
    if block.part is Part.BUFFER:
        return draw.buffer(block.facing, 0 if outside else block.delay)
    if block.facing is Direction.NZ:
        return draw.standing_inverter()
    return draw.hanging_inverter(block.facing)


class _Symbol:
    """Draws one symbol in one state, or with the classes by which a page sets its state."""

    def __init__(self, power: float, live: bool) -> None:
        self.power = power
        self.live = live

    def _class(self, name: str) -> dict[str, str]:
        return {"class": f"s-{name}"} if self.live else {}

    def _frame(self, fill: str, line: str, width: float, name: str) -> str:
        return element(
            "rect",
            x=2,
            y=2,
            width=CELL - 4,
            height=CELL - 4,
            fill=fill,
            stroke=line,
            stroke_width=width,
            **self._class(name),
        )

    def solid(self) -> str:
        fill = palette.ON_PALE if self.power else palette.SOLID_FILL
        body = self._frame(fill, palette.INK, 2.6, "solid")
        if self.live or self.power == 1:
            body += self._hatch("charged", rising=True)
        if self.live or self.power == 2:
            body += self._hatch("driven", rising=True, falling=True)
        return body

    def _hatch(self, name: str, *, rising: bool, falling: bool = False) -> str:
        low, high = 3.5, CELL - 3.5
        strokes: list[tuple[Point, Point]] = []
        for offset in (-22.0, -11.0, 0.0, 11.0, 22.0):
            # Lines y = x + offset, cut at the frame; then the same lines mirrored.
            start, end = max(low, low - offset), min(high, high - offset)
            one, other = (start, start + offset), (end, end + offset)
            if falling:
                strokes.append((one, other))
            if rising:
                strokes.append(((one[0], CELL - one[1]), (other[0], CELL - other[1])))
        return lines(strokes, stroke=palette.ON_LINE, stroke_width=2.2, **self._class(name))

    def clear(self) -> str:
        dots = "".join(
            element("circle", cx=x, cy=y, r=1.9, fill=palette.CLEAR_LINE)
            for x in (13, 27)
            for y in (13, 27)
        )
        return self._frame(palette.CLEAR_FILL, palette.CLEAR_LINE, 1.2, "clear") + dots

    def ledge(self) -> str:
        bars: list[tuple[Point, Point]] = [((9, y), (31, y)) for y in (15.5, 24.5)]
        return self._frame(palette.LEDGE_FILL, palette.LEDGE_LINE, 1.2, "ledge") + lines(
            bars, stroke=palette.LEDGE_LINE, stroke_width=2.2
        )

    def wire(
        self, runs: Iterable[Direction], up: Iterable[Direction], down: Iterable[Direction]
    ) -> str:
        on = self.power > 0
        arms = []
        for way in sorted(runs):
            x, y = _ON_PAPER[way]
            arms.append(((_MID, _MID), (_MID + x * _MID, _MID + y * _MID)))
        body = ""
        if arms:
            body += lines(
                arms,
                stroke=palette.ON if on else palette.WIRE_LINE,
                stroke_width=5 + 5 * self.power if on else 3,
                **self._class("arm"),
            )
        steps: list[tuple[Point, Point]] = []
        for way in sorted(up):
            (tip,) = turned([(37.5, 20)], way)
            steps += [(point, tip) for point in turned([(31, 13), (31, 27)], way)]
        for way in sorted(down):
            one, other = turned([(36, 12), (36, 28)], way)
            steps.append((one, other))
        if steps:
            body += lines(
                steps,
                stroke=palette.ON_LINE if on else palette.WIRE_LINE,
                stroke_width=2.6,
                stroke_linecap="round",
                **self._class("step"),
            )
        return body + element(
            "circle",
            cx=_MID,
            cy=_MID,
            r=5.2,
            fill=palette.ON_LINE if on else palette.PAPER,
            stroke=palette.ON_LINE if on else palette.WIRE_LINE,
            stroke_width=2.4,
            **self._class("node"),
        )

    def _body(self, points: list[Point], fill: str, line: str) -> str:
        return path(
            points,
            closed=True,
            fill=palette.ON if self.power else fill,
            stroke=line,
            stroke_width=2.6 if self.power else 1.8,
            stroke_linejoin="round",
            **self._class("body"),
        )

    def _bubble(self, x: float, y: float) -> str:
        return element(
            "circle",
            cx=x,
            cy=y,
            r=4.6,
            fill=palette.ON_LINE if self.power else palette.PAPER,
            stroke=palette.INVERTER_LINE,
            stroke_width=1.8,
            **self._class("bubble"),
        )

    def hanging_inverter(self, on: Direction) -> str:
        away = on.opposite
        outline = [(CELL * u, CELL * (0.5 - v)) for u, v in INVERTER_OUTLINE]
        bar = lines(
            [tuple(turned([(1.6, 5), (1.6, 35)], away))],  # type: ignore[list-item]
            stroke=palette.INVERTER_LINE,
            stroke_width=3.2,
        )
        ((x, y),) = turned([(31.6, 20)], away)
        body = self._body(
            turned(outline, away), palette.INVERTER_FILL, palette.INVERTER_LINE
        )  # fmt: skip
        return bar + body + self._bubble(x, y)

    def standing_inverter(self) -> str:
        ring = element(
            "circle",
            cx=_MID,
            cy=_MID,
            r=14,
            fill=palette.ON if self.power else palette.INVERTER_FILL,
            stroke=palette.INVERTER_LINE,
            stroke_width=2.6 if self.power else 1.8,
            **self._class("body"),
        )
        return ring + self._bubble(_MID, _MID)

    def buffer(self, to: Direction, delay: int) -> str:
        outline = [(CELL * u, CELL * (0.5 - v)) for u, v in notched(BUFFER_OUTLINE, delay)]
        body = self._body(turned(outline, to), palette.BUFFER_FILL, palette.BUFFER_LINE)
        if not delay:
            return body
        ((x, y),) = turned([(16.5, 20)], to)
        return body + text(
            str(delay),
            x,
            y + 4.6,
            size=13 if delay < 10 else 11,
            anchor="middle",
            fill=palette.ON_INK if self.power else palette.BUFFER_LINE,
            weight="bold",
            **self._class("number"),
        )


def turned(points: list[Point], way: Direction) -> list[Point]:
    """Points drawn for a symbol that points right, turned to point along ``way``."""
    x, y = _ON_PAPER[way]
    return [
        (_MID + (u - _MID) * x - (v - _MID) * y, _MID + (u - _MID) * y + (v - _MID) * x)
        for u, v in points
    ]
