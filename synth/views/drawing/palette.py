"""Colours of all drawings, chosen so that no meaning rests on colour alone.

Lines stand out from the paper by at least 4.5 to 1, as WCAG 2.2 (1.4.3, 1.4.11) asks of text and
more than it asks of graphics; ``tests/views/drawing/test_svg.py`` computes it. Blue, green and
violet differ in brightness too, and every part has a shape of its own.
"""

from __future__ import annotations

FONT = "'DejaVu Sans', 'Liberation Sans', Arial, sans-serif"

PAPER = "#ffffff"
INK = "#17212b"
FAINT = "#55616d"
"""Labels and hidden edges: still text, so still dark enough."""

GRID = "#c4ccd4"
"""The cells of an empty layer; carries no meaning."""

SOLID_FILL = "#d3d9e0"
SOLID_HATCH = "#7b8794"
CLEAR_FILL = "#f4f8fb"
LEDGE_FILL = "#e9e2d3"
LEDGE_LINE = "#6b5a33"
WIRE_LINE = "#0a5aa8"
INVERTER_FILL = "#ece3f6"
INVERTER_LINE = "#5a2d8c"
BUFFER_FILL = "#d8efe6"
BUFFER_LINE = "#00604a"
PIN_FILL = "#17212b"

NEW_FILL = "#ffe7ad"
NEW_LINE = "#8a5200"
"""What a step of a plan adds, or what a reader should look at now."""


def luminance(colour: str) -> float:
    """Relative luminance of ``#rrggbb`` as WCAG 2.2 defines it, 0 to 1."""

    def linear(part: str) -> float:
        value = int(part, 16) / 255
        return value / 12.92 if value <= 0.04045 else float(((value + 0.055) / 1.055) ** 2.4)

    red, green, blue = (linear(colour[at : at + 2]) for at in (1, 3, 5))
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def contrast(one: str, other: str) -> float:
    """Contrast ratio of two colours as WCAG 2.2 defines it, 1 to 21."""
    dark, light = sorted((luminance(one), luminance(other)))
    return (light + 0.05) / (dark + 0.05)
