"""One sheet that shows a whole layout: title, layers, isometric picture, key of symbols, parts."""

from __future__ import annotations

from dataclasses import dataclass

from synth.layout import Layout
from synth.layout.pins import show_size
from synth.medium import CLEAR, LEDGE, SOLID, WIRE, Block, Direction, buffer, inverter
from synth.views.drawing import palette
from synth.views.drawing.isometric import isometric_picture
from synth.views.drawing.layers import layers_picture
from synth.views.drawing.svg import Picture, lines, shifted, text, text_width
from synth.views.drawing.symbols import CELL, symbol

_MARGIN = 24.0
_KEY_WIDTH = 250.0

KEY = (
    (SOLID, "solid"),
    (CLEAR, "clear"),
    (LEDGE, "ledge"),
    (WIRE, "wire; a bar: to a wire one up or down"),
    (inverter(Direction.NX), "inverter; its flat side is on its host"),
    (inverter(Direction.NZ), "inverter that stands on its host"),
    (buffer(Direction.PX, 2), "buffer: points to its front; ticks"),
)
"""Every symbol of a plan, with what it means."""


def title_of(layout: Layout) -> str:
    """The layout's name, or what it is."""
    return layout.name or "layout"


@dataclass(frozen=True, slots=True)
class Window:
    """A part of a sheet that can be shown alone: its corner and size in units of the sheet."""

    x: float
    y: float
    width: float
    height: float


def sheet_picture(layout: Layout) -> Picture:
    """Everything on one sheet."""
    return sheet_and_window(layout)[0]


def sheet_and_window(layout: Layout) -> tuple[Picture, Window]:
    """The sheet, and where on it the isometric picture stands."""
    layers = layers_picture(layout, width=760)
    space = isometric_picture(layout)
    key = key_picture()
    top = _MARGIN + 56
    column = max(layers.width, key.width)
    counts = layout.bill_of_materials()
    parts = ", ".join(f"{count} {name}" for name, count in counts.items()) or "no parts"
    facts = f"{show_size(layout.size)} cells (x, y, z); {layout.part_count} parts: {parts}"
    width = max(column + 40 + space.width, text_width(facts, 12), text_width(title_of(layout), 22))
    height = max(layers.height + 30 + key.height, space.height)
    body = [
        text(title_of(layout), _MARGIN, _MARGIN + 20, size=22, weight="bold"),
        text(facts, _MARGIN, _MARGIN + 40, fill=palette.FAINT),
        shifted(layers.body, _MARGIN, top),
        shifted(key.body, _MARGIN, top + layers.height + 30),
        shifted(space.body, _MARGIN + column + 40, top),
    ]
    sheet = Picture(width + 2 * _MARGIN, top + height + _MARGIN, "".join(body))
    return sheet, Window(_MARGIN + column + 40, top, space.width, space.height)


def key_picture(*, width: float = 640) -> Picture:
    """What the symbols of the plans mean."""
    scale = 0.7
    rows = -(-len(KEY) // 2)
    body = [
        lines([((0, 0), (width, 0))], stroke=palette.FAINT, stroke_width=0.8),
        text("Seen from above: x to the right, y up the page.", 0, 20, fill=palette.FAINT),
    ]
    for index, (block, words) in enumerate(KEY):
        column, row = divmod(index, rows)
        x, y = column * width / 2, 32 + row * 36
        body.append(
            f'<g transform="translate({x:g} {y:g}) scale({scale:g})">{key_symbol(block)}</g>'
        )
        body.append(text(words, x + CELL * scale + 10, y + CELL * scale / 2 + 4.5))
    return Picture(width, 32 + rows * 36, "".join(body))


def key_symbol(block: Block) -> str:
    """A block as the key shows it: a wire runs along x and climbs at one end."""
    return symbol(block, (Direction.PX, Direction.NX), (Direction.PX,))
