"""The sheet of a layout as SVG, and as PNG by the same drawing."""

from __future__ import annotations

from synth.errors import InputError
from synth.exports.needs import needed
from synth.layout import Layout
from synth.views.drawing.sheet import sheet_picture
from synth.views.drawing.svg import Picture
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
    return drawn(sheet_picture(layout), title_of(layout), "png")


def drawn(picture: Picture, title: str, kind: str) -> bytes:
    """Any picture as a file.

    Args:
        picture: the picture.
        title: what it shows, for those who cannot see it.
        kind: ``svg`` or ``png``.

    Raises:
        InputError: as for ``png``.
    """
    document = picture.document(title)
    if kind == "svg":
        return document.encode("utf-8")
    renderer = needed("resvg_py", "png", "resvg-py")
    if picture.width * picture.height * PNG_ZOOM**2 > MAX_PIXELS:
        raise InputError(
            f"a picture of {picture.width:.0f} x {picture.height:.0f} units is too large for "
            "pixels",
            place="--as",
            way_out="use --as svg, which has no such limit",
        )
    return bytes(renderer.svg_to_bytes(svg_string=document, zoom=PNG_ZOOM))
