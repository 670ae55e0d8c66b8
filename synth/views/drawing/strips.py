"""A play as strips: the layout from the side, once for every tick at which something changes.

The longer level side runs to the right, z up the page. Lanes behind the first stand off to the
upper right, so that nothing is hidden whole. What has power is filled and thick, whatever its
colour; what has changed since the strip before is framed. Bits of buses stand above their copy,
other inputs to the left and other outputs to the right; a value that is new is bold. So a signal
that runs along a row of copies can be followed from strip to strip.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from synth import defaults
from synth.layout import Layout, Pin
from synth.medium import (
    SOLID,
    WIRE,
    Block,
    Cell,
    Direction,
    Part,
    Role,
    Rules,
    buffer,
    inverter,
)
from synth.views.drawing import palette
from synth.views.drawing.shown import Shown
from synth.views.drawing.svg import (
    Picture,
    Point,
    element,
    group,
    lines,
    path,
    shifted,
    text,
    text_width,
)
from synth.views.titles import title_of

_WIDE, _MOST_UNIT, _LEAST_UNIT = 1180.0, 26.0, 5.0
"""The width of a strip to come near to, and how large a cell may be, in units."""

_OFF = 0.36
"""How far a lane stands off from the one before it, in cells."""

_MARGIN, _HEAD, _LABEL, _GAP = 24.0, 74.0, 18.0, 12.0

_BIT = re.compile(r"(.+)\[(\d+)\]")


def strips_picture(
    layout: Layout, trace: Mapping[str, Any], rules: Rules, *, most: int = defaults.STRIPS
) -> Picture:
    """The strips of a play.

    Args:
        layout: what was played.
        trace: the trace document.
        rules: the rule table.
        most: how many strips there may be, at least 2.
    """
    return _Strips(layout, trace, rules).picture(strip_ticks(trace, most))


def strip_ticks(trace: Mapping[str, Any], most: int = defaults.STRIPS) -> list[int]:
    """The ticks that get a strip: that before the last change of an input, and all later ones at
    which something changes.
    """
    shown = trace["ticks"]
    since = max((_last_change(word) - 1 for word in trace["inputs"].values()), default=0)
    first = min(max(0, since), len(shown) - 1)
    found = [first]
    found += [at for at in range(first + 1, len(shown)) if shown[at] != shown[at - 1]]
    if len(found) <= most:
        return found
    step = (len(found) - 1) / (most - 1)
    return [found[round(number * step)] for number in range(most)]


def _last_change(word: str) -> int:
    """The last tick at which a word differs from the tick before; 0 if it never does."""
    return max((at for at in range(1, len(word)) if word[at] != word[at - 1]), default=0)


@dataclass(frozen=True, slots=True)
class _Side:
    """How a layout is seen: along y, or along x if it is longer across."""

    across: bool
    columns: int
    lanes: int
    height: int
    unit: float

    @staticmethod
    def of(layout: Layout) -> _Side:
        across = layout.width > layout.length
        columns, lanes = layout.length, layout.width
        if across:
            columns, lanes = lanes, columns
        unit = max(_LEAST_UNIT, min(_MOST_UNIT, _WIDE / columns))
        return _Side(across, columns, lanes, layout.height, unit)

    def column(self, cell: Cell) -> int:
        """How far to the right a cell is."""
        return cell[1] if self.across else cell[0]

    def lane(self, cell: Cell) -> int:
        """How far behind the first lane: seen from -y, or from +x."""
        return self.lanes - 1 - cell[0] if self.across else cell[1]

    @property
    def size(self) -> tuple[float, float]:
        """Width and height of a strip."""
        more = _OFF * (self.lanes - 1)
        return ((self.columns + more) * self.unit, (self.height + more) * self.unit)

    def corner(self, cell: Cell) -> Point:
        """The upper left corner of a cell."""
        lane = self.lane(cell)
        return (
            (self.column(cell) + _OFF * lane) * self.unit,
            self.size[1] - (cell[2] + 1 + _OFF * lane) * self.unit,
        )

    def rightwards(self, facing: Direction) -> int:
        """1 if a direction leads to the right, -1 to the left, 0 across the lanes."""
        return facing.vector[1 if self.across else 0]


class _Strips:
    def __init__(self, layout: Layout, trace: Mapping[str, Any], rules: Rules) -> None:
        self.layout = layout
        self.trace = trace
        self.rules = rules
        self.side = _Side.of(layout)
        bits: dict[int, list[Pin]] = {}
        self.single: dict[Role, list[Pin]] = {Role.INPUT: [], Role.OUTPUT: []}
        for pin in layout.pins:
            found = _BIT.fullmatch(pin.name)
            if found is None:
                self.single[pin.role].append(pin)
            else:
                bits.setdefault(int(found[2]), []).append(pin)
        self.bits = dict(sorted(bits.items()))

    def picture(self, ticks: list[int]) -> Picture:
        """A strip for each of these ticks, one below the other."""
        width, height = self.side.size
        left = _MARGIN + max(58.0, self._widest(Role.INPUT))
        right = self._widest(Role.OUTPUT) + _MARGIN
        title = title_of(self.layout)
        key, key_width = self._key()
        body = [text(title, _MARGIN, _MARGIN + 18, size=22, weight="bold"), key]
        y = _MARGIN + _HEAD
        before: int | None = None
        for tick in ticks:
            strip = self._labels(tick, before) + shifted(self._strip(tick, before), 0, _LABEL)
            body.append(shifted(strip, left, y))
            middle = y + _LABEL + height / 2
            body.append(text(f"tick {tick}", _MARGIN, middle - 6, size=13, weight="bold"))
            body.append(self._beside(Role.INPUT, tick, before, _MARGIN, middle))
            body.append(self._beside(Role.OUTPUT, tick, before, left + width + 10, middle))
            y += _LABEL + height + _GAP
            before = tick
        words = max(text_width(title, 22), key_width)
        wide = max(left + width + right, 2 * _MARGIN + words)
        return Picture(wide, y + _MARGIN - _GAP, "".join(body))

    def _widest(self, role: Role) -> float:
        names = [f"{pin.name} = 0" for pin in self.single[role]]
        return max((text_width(name, 13) + 14 for name in names), default=10.0)

    # What stands around a strip

    def _key(self) -> tuple[str, float]:
        """How power is drawn, beside the same without, and how wide that is."""
        body, x = "", _MARGIN
        y = _MARGIN + 32
        for block in _SAMPLES:
            for on in (False, True):
                body += shifted(_part(block, on, 1, 16.0), x, y)
                x += 20
            body += text(str(block.part), x + 4, y + 13, fill=palette.FAINT)
            x += text_width(str(block.part)) + 20
        body += shifted(_frame(16.0), x, y)
        note = "changed. Left without power, right with it; what is further back is drawn higher"
        body += text(note, x + 24, y + 13, fill=palette.FAINT)
        return body, x + 24 + text_width(note) - _MARGIN

    def _value(self, pin: Pin, tick: int) -> str:
        words = self.trace["inputs" if pin.role is Role.INPUT else "outputs"]
        return str(words[pin.name][tick])

    def _is_new(self, pins: Iterable[Pin], tick: int, before: int | None) -> bool:
        return before is not None and any(
            self._value(pin, tick) != self._value(pin, before) for pin in pins
        )

    def _labels(self, tick: int, before: int | None) -> str:
        """The values of each copy's pins, above it."""
        body = ""
        for pins in self.bits.values():
            columns = [self.side.column(pin.at) for pin in pins]
            middle = (min(columns) + max(columns) + 1) / 2 * self.side.unit
            middle += _OFF * (self.side.lanes - 1) * self.side.unit / 2
            named = (f"{pin.name.rpartition('[')[0]} {self._value(pin, tick)}" for pin in pins)
            new = self._is_new(pins, tick, before)
            body += text(
                "  ".join(named),
                middle,
                _LABEL - 5,
                anchor="middle",
                weight="bold" if new else "normal",
                xml_space="preserve",
            )
        return body

    def _beside(self, role: Role, tick: int, before: int | None, x: float, middle: float) -> str:
        body = ""
        for number, pin in enumerate(self.single[role]):
            down = 14 + 16 * number if role is Role.INPUT else 5 + 16 * number
            weight = "bold" if self._is_new([pin], tick, before) else "normal"
            words = f"{pin.name} = {self._value(pin, tick)}"
            body += text(words, x, middle + down, size=13, weight=weight)
        return body

    # A strip

    def _power(self, tick: int) -> Mapping[Cell, float]:
        return Shown.of_tick(self.layout, self.trace["ticks"][tick], rules=self.rules).power

    def _strip(self, tick: int, before: int | None) -> str:
        width, height = self.side.size
        power = self._power(tick)
        earlier = power if before is None else self._power(before)
        edge = element("rect", width=width, height=height, fill=palette.PAPER, stroke=palette.GRID)
        body = [edge, lines(self._seams(), stroke=palette.FAINT, stroke_dasharray="2 3")]
        changed = []
        for cell in sorted(self.layout.cells, key=lambda cell: (-self.side.lane(cell), cell)):
            block = self.layout.cells[cell]
            rightwards = self.side.rightwards(block.facing or Direction.PX)
            on = power.get(cell, 0) > 0
            drawn = _part(block, on, rightwards, self.side.unit)
            body.append(shifted(drawn, *self.side.corner(cell)))
            if on is not (earlier.get(cell, 0) > 0):
                changed.append(shifted(_frame(self.side.unit), *self.side.corner(cell)))
        return "".join([*body, *changed])

    def _seams(self) -> Iterator[tuple[Point, Point]]:
        """Upright lines between the copies of a row."""
        places = {
            (base[1], index): self.side.column(pin.at)
            for index, pins in self.bits.items()
            for pin in pins
            if (base := _BIT.fullmatch(pin.name))
        }
        steps = {
            column - places[name, index - 1]
            for (name, index), column in places.items()
            if (name, index - 1) in places
        }
        if len(steps) != 1:
            return  # Buses that are not those of a row.
        (pitch,) = steps
        for column in range(pitch, self.side.columns, max(1, pitch)):
            x = column * self.side.unit
            yield ((x, 0.0), (x, self.side.size[1]))


_SAMPLES = (SOLID, WIRE, inverter(Direction.NZ), buffer(Direction.PX, 1))
"""What the key shows."""


def _frame(unit: float) -> str:
    """The frame of a cell that has changed."""
    return element(
        "rect",
        width=unit,
        height=unit,
        fill="none",
        stroke=palette.NEW_LINE,
        stroke_width=max(1.0, unit / 9),
    )


def _part(block: Block, on: bool, rightwards: int, unit: float) -> str:
    """A part from the side, in a cell whose upper left corner is the origin."""

    def box(x: float, y: float, width: float, height: float, **paint: str | float) -> str:
        return element(
            "rect", x=x * unit, y=y * unit, width=width * unit, height=height * unit, **paint
        )

    thick = max(0.4, unit / 22)
    on_paint = {"fill": palette.ON, "stroke": palette.ON_LINE}
    if block.part is Part.SOLID:
        fill = palette.ON_PALE if on else palette.SOLID_FILL
        body = box(0.05, 0.05, 0.9, 0.9, fill=fill, stroke=palette.INK)
        if on:
            hatch: list[tuple[Point, Point]] = [
                ((unit * a, unit * b), (unit * b, unit * a)) for a, b in ((0.1, 0.5), (0.1, 0.9))
            ]
            hatch.append(((unit * 0.5, unit * 0.9), (unit * 0.9, unit * 0.5)))
            body += lines(hatch, stroke=palette.ON_LINE)
    elif block.part is Part.CLEAR:
        body = box(
            0.05, 0.05, 0.9, 0.9, fill=palette.CLEAR_FILL, fill_opacity=0.4,
            stroke=palette.CLEAR_LINE,
        )  # fmt: skip
    elif block.part is Part.LEDGE:
        body = box(0.05, 0.05, 0.9, 0.4, fill=palette.LEDGE_FILL, stroke=palette.LEDGE_LINE)
    elif block.part is Part.WIRE and on:
        body = box(0, 0.55, 1, 0.4, **on_paint)
    elif block.part is Part.WIRE:
        body = box(0, 0.8, 1, 0.14, fill=palette.WIRE_LINE, stroke=palette.WIRE_LINE)
    elif block.part is Part.INVERTER:
        plain = {"fill": palette.INVERTER_FILL, "stroke": palette.INVERTER_LINE}
        radius = 0.4 if on else 0.28
        paint = on_paint if on else plain
        body = element("circle", cx=unit / 2, cy=unit / 2, r=radius * unit, **paint)
    else:
        plain = {"fill": palette.BUFFER_FILL, "stroke": palette.BUFFER_LINE}
        body = path(
            [(x * unit, y * unit) for x, y in _arrow(rightwards)],
            closed=True,
            **(on_paint if on else plain),
        )
    return group(body, stroke_width=thick * (1.6 if on else 1))


def _arrow(rightwards: int) -> list[Point]:
    """A triangle to the right or left, or a diamond where it points across the lanes."""
    if rightwards == 0:
        return [(0.1, 0.5), (0.5, 0.1), (0.9, 0.5), (0.5, 0.9)]
    back, front = (0.08, 0.92) if rightwards > 0 else (0.92, 0.08)
    return [(back, 0.1), (front, 0.5), (back, 0.9)]
