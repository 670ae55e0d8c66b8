"""A layout as text: its layers as plans, its pins, its measures and its parts.

Plain ASCII, two characters a cell. A layer is seen from above: x runs to the right, y up the
page; every drawing says so. Lines keep within the width asked, except that names are never cut.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence, Set
from dataclasses import dataclass

from synth.layout import Layout, Pin
from synth.layout.layout import show_size
from synth.medium import Block, Cell, Direction, Part, Role
from synth.views.drawing.legend import Says, legend

WIDTH = 80
"""Columns of a page of text."""

EMPTY_GLYPH = " ."

PLAIN_GLYPHS = {
    Part.SOLID: "##",
    Part.CLEAR: "::",
    Part.LEDGE: "==",
    Part.WIRE: "++",
}
"""Glyph pairs of the parts that face nowhere."""

ARROWS = {
    Direction.PX: ">",
    Direction.NX: "<",
    Direction.PY: "^",
    Direction.NY: "v",
    Direction.NZ: "_",
}
"""A direction as seen from above; ``_`` is the cell below."""


def _legend() -> str:
    """What the characters mean, in the words of every legend."""
    known = [entry for entry in legend() if entry.glyph]
    short = [(" .", "empty"), *((e.glyph, e.name) for e in known if not e.reads)]
    lines = ["Seen from above: x runs to the right, y up the page; z = 0 is the lowest layer."]
    lines.append("    ".join(f"{glyph}  {name}" for glyph, name in short))
    lines += [f"{e.glyph}  {e.name.split()[0]}: {e.reads}" for e in known if e.reads]
    return "\n".join(lines)


def _power_legend() -> str:
    wire = next(e for e in legend(states=True) if e.says is Says.STATE and e.glyph)
    return (
        f"{wire.glyph}  {wire.name}: {wire.reads}\n"
        " *  behind a cell: inverter or buffer that is on, solid charged, wire with power"
    )


LEGEND = _legend()
POWER_LEGEND = _power_legend()

_GAP = 3
_CELL = 3


@dataclass(frozen=True, slots=True)
class Power:
    """What has power at one tick.

    Attributes:
        strengths: of every wire, by cell.
        on: cells of what is on, charged, or a wire with power.
    """

    strengths: Mapping[Cell, int]
    on: Set[Cell]

    @staticmethod
    def of_tick(tick: Mapping[str, Sequence[Sequence[int]]]) -> Power:
        """From one entry of ``ticks`` of a trace document."""
        strengths = {(x, y, z): strength for x, y, z, strength in tick["wires"]}
        on = {(x, y, z) for key in ("charged", "on") for x, y, z in tick[key]}
        return Power(strengths, on | {cell for cell, strength in strengths.items() if strength})


def glyph(block: Block | None) -> str:
    """The two characters that stand for what a cell holds.

    A buffer delay above 9 ticks, which only a replaced rule table allows, is drawn ``*``.
    """
    if block is None:
        return EMPTY_GLYPH
    if block.facing is None:
        return PLAIN_GLYPHS[block.part]
    if block.part is Part.INVERTER:
        return f"~{ARROWS[block.facing]}"
    delay = str(block.delay) if block.delay < 10 else "*"
    return f"{delay}{ARROWS[block.facing]}"


def layout_text(layout: Layout, *, width: int = WIDTH, power: Power | None = None) -> str:
    """Everything a reader needs to rebuild the layout: layers, legend, pins, size, parts.

    Args:
        width: columns of the page.
        power: what to mark as having power, if anything is played.
    """
    legend = LEGEND if power is None else f"{LEGEND}\n{POWER_LEGEND}"
    sections = [layers_text(layout, width=width, power=power), legend]
    slow = [
        f"  {list(cell)}  {block}"
        for cell, block in layout.cells.items()
        if block.part is Part.BUFFER and block.delay > 9
    ]
    if slow:
        sections.append("\n".join(["Buffers drawn *, of more than 9 ticks", *slow]))
    if layout.pins:
        sections.append(pins_text(layout))
    sections.append(measures_text(layout))
    return "\n\n".join(sections)


def layers_text(layout: Layout, *, width: int = WIDTH, power: Power | None = None) -> str:
    """The layers, lowest first, side by side as far as they fit into ``width`` columns.

    A layer that is too long for the width is cut along x into pieces, each labelled.
    """
    marks = pin_marks(layout)
    drawing = _Drawing(layout, marks, power)
    step = max(1, (width - drawing.margins + 1) // _CELL)
    length = layout.length
    pieces = [range(start, min(start + step, length)) for start in range(0, length, step)]
    blocks = [drawing.layer(z, xs) for z in range(layout.height) for xs in pieces]
    return beside(blocks, width=width)


def pin_marks(layout: Layout) -> dict[str, str]:
    """For each pin one or two letters of its name, unlike each other as far as names allow.

    A name of up to two letters stands for itself. Marks begin as names do, never with a digit, so
    that none can be taken for a buffer.
    """
    taken = {pin.name for pin in layout.pins if len(pin.name) <= 2}
    marks = {}
    for pin in layout.pins:
        name = pin.name
        mark = name[:2]
        if len(name) > 2:
            # The last letter often tells names apart: in1, in2.
            tries = [name[0] + letter for letter in (name[1], name[-1], *name[2:-1])]
            mark = next((found for found in tries if found not in taken), mark)
        taken.add(mark)
        marks[name] = mark
    return marks


def drawn_mark(pin: Pin, mark: str) -> str:
    """A mark with the way of the pin's signal: the arrow stands between name and frame."""
    arrow = _arrow(pin)
    return arrow + mark if pin.face is Direction.PX else mark + arrow


def _arrow(pin: Pin) -> str:
    return ARROWS[pin.face if pin.role is Role.OUTPUT else pin.face.opposite]


def pins_text(layout: Layout) -> str:
    """One line a pin: its mark, name, role, cell, face and joint."""
    marks = pin_marks(layout)
    rows = [
        (f"{marks[pin.name]:2} {_arrow(pin)}", pin.name, str(pin.role), f"cell {list(pin.at)}",
         f"face {pin.face}", f"joint {pin.joint}")
        for pin in layout.pins
    ]  # fmt: skip
    return "\n".join(["Pins", *columns(rows)])


def measures_text(layout: Layout) -> str:
    """Size and measures (section 9), the parts list, stacking and ground, a line each."""
    counts = layout.bill_of_materials()
    parts = ", ".join(f"{count} {name}" for name, count in counts.items()) or "none"
    rows = [
        (
            "Size",
            f"{show_size(layout.size)} cells (length x width x height), "
            f"volume {layout.volume}, floor {layout.floor}",
        ),
        ("Parts", f"{layout.part_count}: {parts}"),
    ]
    if layout.stack:
        rows.append(("Stack", f"along {layout.stack.axis} at pitch {layout.stack.pitch}"))
    if layout.ground:
        rows.append(("Ground", "carries wires and buffers at height 0"))
    return "\n".join(columns(rows, indent=""))


def columns(rows: Sequence[Sequence[str]], *, indent: str = "  ") -> list[str]:
    """Rows of cells as lines, each column as wide as its widest cell."""
    if not rows:
        return []
    widths = [max(len(row[index]) for row in rows) for index in range(len(rows[0]))]
    return [
        (indent + "  ".join(cell.ljust(w) for cell, w in zip(row, widths, strict=True))).rstrip()
        for row in rows
    ]


def beside(blocks: Sequence[Sequence[str]], *, width: int = WIDTH) -> str:
    """Blocks of lines side by side, as many to a row as fit, rows parted by an empty line."""
    rows: list[list[Sequence[str]]] = []
    used = 0
    for block in blocks:
        wide = max(len(line) for line in block)
        if rows and used + _GAP + wide <= width:
            rows[-1].append(block)
            used += _GAP + wide
        else:
            rows.append([block])
            used = wide
    return "\n\n".join(_join(row) for row in rows)


_COLOURS = (
    ("#", "38;5;244"),
    (":", "38;5;31"),
    ("=", "38;5;130"),
    ("+", "38;5;33"),
    ("~", "38;5;133"),
)
"""By the first character of a glyph: mid-tones that stand out from black and from white."""

_BUFFER_COLOUR = "38;5;29"
_WIRE_COLOUR = "38;5;33"
_ROW = re.compile(r"\| ((?:[^|]{3})+)\|")


def painted(layers: str) -> str:
    """Layers with colours of ECMA-48 for a terminal: a colour a part, reversed where it has power.

    Colours only repeat what the characters say.
    """

    def paint_row(found: re.Match[str]) -> str:
        cells = found[1]
        return (
            "| " + "".join(_paint(cells[at : at + 3]) for at in range(0, len(cells), _CELL)) + "|"
        )

    return _ROW.sub(paint_row, layers)


def _paint(cell: str) -> str:
    drawn, mark = cell[:2], cell[2]
    if drawn == EMPTY_GLYPH:
        return f"\x1b[2m{drawn}\x1b[0m{mark}"
    code = dict(_COLOURS).get(drawn[0])
    if code is None:
        code = _BUFFER_COLOUR if drawn[1] in ARROWS.values() else _WIRE_COLOUR
    powered = ";7" if mark == "*" else ""
    return f"\x1b[{code}{powered}m{drawn}\x1b[0m{mark}"


def _join(row: Sequence[Sequence[str]]) -> str:
    widths = [max(len(line) for line in block) for block in row]
    lines = []
    for index in range(max(len(block) for block in row)):
        cells = [
            (block[index] if index < len(block) else "").ljust(wide)
            for block, wide in zip(row, widths, strict=True)
        ]
        lines.append((" " * _GAP).join(cells).rstrip())
    return "\n".join(lines)


class _Drawing:
    """Draws layers of one layout, all with the same margins so that they line up."""

    def __init__(self, layout: Layout, marks: dict[str, str], power: Power | None) -> None:
        self.layout = layout
        self.power = power
        self.marks: dict[tuple[Cell, Direction], str] = {
            (pin.at, pin.face): drawn_mark(pin, marks[pin.name]) for pin in layout.pins
        }
        self.left = self._widest(Direction.NX)
        self.right = self._widest(Direction.PX)
        self.label = max(4, len(str(layout.width - 1)) + 1)

    def _widest(self, face: Direction) -> int:
        return max((len(mark) for (_, at), mark in self.marks.items() if at is face), default=0)

    @property
    def margins(self) -> int:
        """Columns of a layer beside its cells: labels, pin marks and frame."""
        return self.label + self.left + self.right + 4

    def layer(self, z: int, xs: range) -> list[str]:
        """The lines of layer ``z`` for the cells with x in ``xs``."""
        layout = self.layout
        title = f"z = {z}"
        if len(xs) < layout.length:
            title += f", x = {xs[0]} to {xs[-1]}"
        blank = " " * (self.label + self.left)
        numbers = " ".join(f"{x % 100:>2}" for x in xs)
        edge = "+" + "-" * (len(xs) * _CELL + 1) + "+"
        lines = [title, "x =".ljust(len(blank)) + "  " + numbers]
        lines += self._marks_rows(z, xs, Direction.PY, layout.width - 1)
        lines.append("y =".ljust(len(blank)) + edge)
        for y in reversed(range(layout.width)):
            cells = "".join(self._cell((x, y, z)) for x in xs)
            left = self.marks.get(((xs[0], y, z), Direction.NX), "").rjust(self.left)
            right = self.marks.get(((xs[-1], y, z), Direction.PX), "").ljust(self.right)
            label = str(y).rjust(self.label - 1) + " "
            lines.append(f"{label}{left}| {cells}|{right}")
        lines.append(blank + edge)
        lines += self._marks_rows(z, xs, Direction.NY, 0)
        # Layers of one width stand one under another in every row of the page.
        wide = len(blank) + len(edge) + self.right
        return [line.ljust(wide) for line in lines]

    def _cell(self, cell: Cell) -> str:
        """Three characters: what the cell holds, and whether it has power."""
        drawn = glyph(self.layout.cells.get(cell))
        if self.power is None:
            return f"{drawn} "
        if cell in self.power.strengths:
            drawn = f"{min(self.power.strengths[cell], 99):>2}"
        return drawn + ("*" if cell in self.power.on else " ")

    def _marks_rows(self, z: int, xs: range, face: Direction, y: int) -> list[str]:
        """The pins beyond one long side, arrows next to the frame; nothing if no layer has any."""
        if not any(at_face is face for _, at_face in self.marks):
            return []
        blank = " " * (self.label + self.left + 2)
        marks = [self.marks.get(((x, y, z), face), "") for x in xs]
        names = blank + " ".join(mark[:-1].rjust(2) for mark in marks)
        arrows = blank + " ".join(mark[-1:].rjust(2) for mark in marks)
        return [names, arrows] if face is Direction.PY else [arrows, names]
