"""One symbol for each part, as seen from above, in a cell of 40 by 40 units.

The shapes are those of logic drawings: a triangle amplifies, a circle at its tip negates
(IEEE Std 91a distinctive shapes). Blocks are told apart by their filling, as materials are in
a sectional drawing.
"""

from __future__ import annotations

from collections.abc import Iterable

from synth.medium import Block, Direction, Part
from synth.views.drawing import palette
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
"""Where a level direction leads on the page: x to the right, y up."""


def symbol(block: Block, runs: Iterable[Direction] = (), climbs: Iterable[Direction] = ()) -> str:
    """The symbol of a block.

    Args:
        block: what to draw.
        runs: of a wire, the level directions it runs towards (section 3).
        climbs: of a wire, the level directions in which it is linked one step up or down.
    """
    if block.part is Part.SOLID:
        return _solid()
    if block.part is Part.CLEAR:
        return _clear()
    if block.part is Part.LEDGE:
        return _ledge()
    if block.part is Part.WIRE:
        return _wire(runs, climbs)
    assert block.facing is not None
    if block.part is Part.BUFFER:
        return _buffer(block.facing, block.delay)
    if block.facing is Direction.NZ:
        return _standing_inverter()
    return _hanging_inverter(block.facing)


def _frame(fill: str, line: str, *, dash: str = "none", width: float = 1.4) -> str:
    return element(
        "rect",
        x=1.5,
        y=1.5,
        width=CELL - 3,
        height=CELL - 3,
        fill=fill,
        stroke=line,
        stroke_width=width,
        stroke_dasharray=dash,
    )


def _solid() -> str:
    low, high = 1.5, CELL - 1.5
    hatch: list[tuple[Point, Point]] = []
    for offset in (-20.0, -10.0, 0.0, 10.0, 20.0):
        # Lines y = x + offset, cut at the frame.
        start = max(low, low - offset)
        end = min(high, high - offset)
        hatch.append(((start, start + offset), (end, end + offset)))
    return _frame(palette.SOLID_FILL, palette.INK) + lines(
        hatch, stroke=palette.SOLID_HATCH, stroke_width=1.1
    )


def _clear() -> str:
    glints: list[tuple[Point, Point]] = [((8, 17), (17, 8)), ((23, 32), (32, 23))]
    return _frame(palette.CLEAR_FILL, palette.INK, dash="4 3") + lines(
        glints, stroke=palette.FAINT, stroke_width=1.2
    )


def _ledge() -> str:
    boards: list[tuple[Point, Point]] = [((1.5, y), (CELL - 1.5, y)) for y in (10.5, 20.0, 29.5)]
    return _frame(palette.LEDGE_FILL, palette.LEDGE_LINE) + lines(
        boards, stroke=palette.LEDGE_LINE, stroke_width=1.1
    )


def _wire(runs: Iterable[Direction], climbs: Iterable[Direction]) -> str:
    drawn = []
    for way in sorted(runs):
        x, y = _ON_PAPER[way]
        drawn.append(((_MID, _MID), (_MID + x * _MID, _MID + y * _MID)))
    body = lines(drawn, stroke=palette.WIRE_LINE, stroke_width=5) if drawn else ""
    bars = []
    for way in sorted(climbs):
        x, y = _ON_PAPER[way]
        at = (_MID + x * (_MID - 4), _MID + y * (_MID - 4))
        bars.append(((at[0] - y * 8, at[1] - x * 8), (at[0] + y * 8, at[1] + x * 8)))
    if bars:
        body += lines(bars, stroke=palette.WIRE_LINE, stroke_width=3)
    return body + element("circle", cx=_MID, cy=_MID, r=6, fill=palette.WIRE_LINE)


def _turned(points: list[Point], way: Direction) -> list[Point]:
    """Points drawn for a symbol that points right, turned to point along ``way``."""
    x, y = _ON_PAPER[way]
    return [
        (_MID + (u - _MID) * x - (v - _MID) * y, _MID + (u - _MID) * y + (v - _MID) * x)
        for u, v in points
    ]


def _hanging_inverter(on: Direction) -> str:
    away = on.opposite
    line = palette.INVERTER_LINE
    bar = path(_turned([(2.5, 7), (2.5, 33)], away), stroke=line, stroke_width=4, fill="none")
    body = path(
        _turned([(5, 8), (27, 20), (5, 32)], away),
        closed=True,
        fill=palette.INVERTER_FILL,
        stroke=line,
        stroke_width=2,
        stroke_linejoin="round",
    )
    ((x, y),) = _turned([(31.5, 20)], away)
    tip = element("circle", cx=x, cy=y, r=4.5, fill=palette.PAPER, stroke=line, stroke_width=2)
    return bar + body + tip


def _standing_inverter() -> str:
    line = palette.INVERTER_LINE
    base = element(
        "rect", x=7, y=7, width=26, height=26, rx=3, fill=palette.INVERTER_FILL,
        stroke=line, stroke_width=2,
    )  # fmt: skip
    edges = lines(
        [((8, 8), (16, 16)), ((32, 8), (24, 16)), ((8, 32), (16, 24)), ((32, 32), (24, 24))],
        stroke=line,
        stroke_width=1.4,
    )
    tip = element(
        "circle", cx=_MID, cy=_MID, r=5.5, fill=palette.PAPER, stroke=line, stroke_width=2
    )
    return base + edges + tip


def _buffer(to: Direction, delay: int) -> str:
    line = palette.BUFFER_LINE
    leads = [
        (_turned([(1.5, 20)], to)[0], _turned([(6, 20)], to)[0]),
        (_turned([(35, 20)], to)[0], _turned([(38.5, 20)], to)[0]),
    ]
    body = path(
        _turned([(6, 5), (35, 20), (6, 35)], to),
        closed=True,
        fill=palette.BUFFER_FILL,
        stroke=line,
        stroke_width=2,
        stroke_linejoin="round",
    )
    ((x, y),) = _turned([(15.5, 20)], to)
    ticks = text(
        str(delay), x, y + 4.6, size=13, anchor="middle", fill=palette.BUFFER_LINE, weight="bold"
    )
    return lines(leads, stroke=line, stroke_width=3) + body + ticks
