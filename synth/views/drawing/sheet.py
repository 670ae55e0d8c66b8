"""One sheet that shows a whole layout: title, layers, isometric picture, key of symbols, parts."""

from __future__ import annotations

from dataclasses import dataclass

from synth.layout import Layout
from synth.layout.pins import show_size
from synth.views.drawing import palette
from synth.views.drawing.isometric import isometric_picture
from synth.views.drawing.layers import layers_picture
from synth.views.drawing.legend import legend, legend_picture
from synth.views.drawing.svg import Picture, shifted, text, text_width
from synth.views.titles import title_of

_MARGIN = 24.0


@dataclass(frozen=True, slots=True)
class Window:
    """A part of a sheet that can be shown by itself: its corner and size in units of the sheet."""

    x: float
    y: float
    width: float
    height: float


def sheet_picture(layout: Layout) -> Picture:
    """Everything on one sheet."""
    return sheet_and_window(layout)[0]


def sheet_and_window(layout: Layout) -> tuple[Picture, Window]:
    """The sheet, and the place of the isometric picture on it."""
    title = title_of(layout)
    layers = layers_picture(layout, width=760)
    space = isometric_picture(layout)
    key = key_picture()
    top = _MARGIN + 56
    column = max(layers.width, key.width)
    counts = layout.bill_of_materials()
    parts = ", ".join(f"{count} {name}" for name, count in counts.items()) or "no parts"
    facts = f"{show_size(layout.size)} cells (x, y, z); {layout.part_count} parts: {parts}"
    width = max(column + 40 + space.width, text_width(facts, 12), text_width(title, 22))
    height = max(layers.height + 30 + key.height, space.height)
    body = [
        text(title, _MARGIN, _MARGIN + 20, size=22, weight="bold"),
        text(facts, _MARGIN, _MARGIN + 40, fill=palette.FAINT),
        shifted(layers.body, _MARGIN, top),
        shifted(key.body, _MARGIN, top + layers.height + 30),
        shifted(space.body, _MARGIN + column + 40, top),
    ]
    sheet = Picture(width + 2 * _MARGIN, top + height + _MARGIN, "".join(body))
    return sheet, Window(_MARGIN + column + 40, top, space.width, space.height)


def key_picture(*, width: float = 640) -> Picture:
    """What the symbols of the plans mean."""
    return legend_picture(legend(), width=width)
