"""The sheet of a layout as SVG, and as PNG by the same drawing."""

from __future__ import annotations

from synth.errors import InputError
from synth.exports.needs import needed
from synth.layout import Layout
from synth.views.drawing.sheet import sheet_picture
from synth.views.titles import title_of

PNG_ZOOM = 2
"""Pixels to a user unit, so that lines and letters stay sharp on paper."""

MAX_PIXELS = 100_000_000
"""Most pixels of a picture: a larger one would fill the memory of a small machine."""


def svg(layout: Layout) -> str:
    """Layers, isometric picture, key and parts as one SVG document."""
    return sheet_picture(layout).document(title_of(layout))


def png(layout: Layout) -> bytes:
    """The same sheet as PNG, ``PNG_ZOOM`` pixels to a unit, on white.

    Raises:
        InputError: if the renderer is not installed or the picture would be too large.
    """
    renderer = needed("resvg_py", "png")
    sheet = sheet_picture(layout)
    if sheet.width * sheet.height * PNG_ZOOM**2 > MAX_PIXELS:
        raise InputError(
            f"a picture of {sheet.width:.0f} x {sheet.height:.0f} units is too large for pixels",
            place="--as",
            way_out="use --as svg, which has no such limit",
        )
    return bytes(renderer.svg_to_bytes(svg_string=sheet.document(title_of(layout)), zoom=PNG_ZOOM))
