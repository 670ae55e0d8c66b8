"""A layout as text: its layers as plans, its pins, its measures and its parts.

Plain ASCII, two characters for each cell. A layer is seen from above: x runs to the right, y up the
page; every drawing says so. Lines keep within the width asked, except that names are never cut.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping, Sequence, Set
from dataclasses import dataclass

from synth.layout import Layout
from synth.layout.drawing.frames import Frames
from synth.layout.drawing.glyphs import ARROWS, CELL_WIDTH, EMPTY_GLYPH, glyph
from synth.layout.drawing.heading import heading_rows
from synth.layout.drawing.writer import SLOW_TITLE, chain_rows, pin_rows, slow_lines
from synth.layout.pins import show_size
from synth.medium import Cell
from synth.views.drawing.legend import Says, legend
from synth.words import WIDTH
from synth.words import columns as columns


def _legend() -> str:
    """What the characters mean, in the words that all legends use."""
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


@dataclass(frozen=True, slots=True)
class Power:
    """What has power at one tick.

    Attributes:
        strengths: the strength of every wire, by cell.
        on: the cells of inverters and buffers that are on, charged solids, and wires with power.
    """

    strengths: Mapping[Cell, int]
    on: Set[Cell]

    @staticmethod
    def of_tick(tick: Mapping[str, Sequence[Sequence[int]]]) -> Power:
        """From one entry of ``ticks`` of a trace document."""
        strengths = {(x, y, z): strength for x, y, z, strength in tick["wires"]}
        on = {(x, y, z) for key in ("charged", "on") for x, y, z in tick[key]}
        return Power(strengths, on | {cell for cell, strength in strengths.items() if strength})

    def drawn(self, layout: Layout) -> Callable[[Cell], str]:
        """Three characters a cell: what it holds or its strength, and whether it has power."""

        def cell(at: Cell) -> str:
            pair = glyph(layout.cells.get(at))
            if at in self.strengths:
                pair = f"{min(self.strengths[at], 99):>2}"
            return pair + ("*" if at in self.on else " ")

        return cell


def layout_text(layout: Layout, *, width: int = WIDTH, power: Power | None = None) -> str:
    """Everything a reader needs to rebuild the layout: layers, legend, pins, size, parts.

    Args:
        width: columns of the page.
        power: what to mark as having power, if anything is played.
    """
    legend = LEGEND if power is None else f"{LEGEND}\n{POWER_LEGEND}"
    cell = None if power is None else power.drawn(layout)
    sections = [layers_text(layout, width=width, cell=cell), legend]
    slow = slow_lines(layout)
    if slow:
        sections.append("\n".join([SLOW_TITLE, *slow]))
    if layout.pins:
        sections.append(pins_text(layout))
    sections.append(measures_text(layout))
    return "\n\n".join(sections)


def layers_text(
    layout: Layout, *, width: int = WIDTH, cell: Callable[[Cell], str] | None = None
) -> str:
    """The layers, lowest first, side by side as far as they fit into ``width`` columns.

    A layer that is too long for the width is cut along x into labelled pieces.

    Args:
        width: columns of the page.
        cell: the ``CELL_WIDTH`` characters of a cell; None: its pair and a space.
    """
    drawing = Frames(layout, cell)
    step = max(1, (width - drawing.margins + 1) // CELL_WIDTH)
    length = layout.length
    pieces = [range(start, min(start + step, length)) for start in range(0, length, step)]
    blocks = [drawing.layer(z, xs) for z in range(layout.height) for xs in pieces]
    return beside(blocks, width=width)


def pins_text(layout: Layout) -> str:
    """One line a pin: its mark, name, role, cell, face and joint."""
    return "\n".join(["Pins", *columns(pin_rows(layout))])


def heading_text(layout: Layout) -> str:
    """Its name and what it was made for, a line each; empty where it says neither."""
    return "\n".join(columns(heading_rows(layout.name, layout.made_for), indent=""))


def measures_text(layout: Layout) -> str:
    """Size and measures (section 9), the parts list, stacking and ground, one line each."""
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
        rows += [(word.capitalize(), links) for word, links in chain_rows(layout.stack)]
    if layout.ground:
        rows.append(("Ground", "carries wires and buffers at height 0"))
    return "\n".join(columns(rows, indent=""))


def beside(blocks: Sequence[Sequence[str]], *, width: int = WIDTH) -> str:
    """Blocks of lines side by side, as many in a row as fit; an empty line between rows.

    A line that is empty in all blocks of a row, such as one kept for pins, is left out.
    """
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
"""Colours by the first character of a glyph: mid-tones that are visible on black and on white."""

_BUFFER_COLOUR = "38;5;29"
_WIRE_COLOUR = "38;5;33"
_ROW = re.compile(r"\| ((?:[^|]{3})+)\|")


def painted(layers: str) -> str:
    """Layers with colours of ECMA-48 for a terminal: one for each part, reversed if it has power.

    Colours only repeat what the characters say.
    """

    def paint_row(found: re.Match[str]) -> str:
        cells = found[1]
        return (
            "| "
            + "".join(
                _paint(cells[at : at + CELL_WIDTH]) for at in range(0, len(cells), CELL_WIDTH)
            )
            + "|"
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
        line = (" " * _GAP).join(cells).rstrip()
        if line:
            lines.append(line)
    return "\n".join(lines)
