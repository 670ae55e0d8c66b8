"""Colours of all drawings, each with its counterpart for dark pages; no meaning rests on one alone.

The shape says what a part is; filling, thickness, hatching and numbers say its state. Lines have a
contrast to the paper of at least 4.5 to 1, as WCAG 2.2 asks for text (1.4.3); filled signs of power
have at least 3 to 1, as it asks for graphics (1.4.11; both from memory).
``tests/views/drawing/test_palette.py`` computes this for both themes.

Drawings are written in the colours for paper. ``themed`` turns these into CSS variables that fall
back on the same colours. A page that defines the variables (``theme_style``) can therefore be dark,
and a drawing in a file of its own needs no style.
"""

from __future__ import annotations

import re
from collections.abc import Mapping

FONT = "'DejaVu Sans', 'Liberation Sans', Arial, sans-serif"

PAPER = "#ffffff"
INK = "#17212b"
FAINT = "#55616d"
"""Labels and hidden edges; dark enough for text."""

GRID = "#c4ccd4"
"""The cells of an empty layer; carries no meaning."""

SOLID_FILL = "#d3d9e0"
CLEAR_FILL = "#f0f6fb"
CLEAR_LINE = "#41617d"
LEDGE_FILL = "#ece7dc"
LEDGE_LINE = "#64552f"
WIRE_LINE = "#0a5aa8"
INVERTER_FILL = "#ece3f6"
INVERTER_LINE = "#5a2d8c"
BUFFER_FILL = "#d8efe6"
BUFFER_LINE = "#00604a"
PIN_FILL = "#16202c"

ON = "#d27a00"
"""What has power: lines and filled bodies, whatever the strength."""

ON_INK = "#1a1206"
"""Letters on filled bodies that have power."""

ON_LINE = "#7a4700"
"""Hatching of a solid that has power."""

ON_PALE = "#fbe6bf"
"""The ground behind that hatching."""

NEW_FILL = "#dfe8fb"
NEW_LINE = "#1f2a5c"
"""What a step of a plan adds, or what the reader has chosen."""

OPEN_LINE = "#8c2f5c"
"""In the plot of a frontier: what is still open."""

LIGHT = {
    "paper": PAPER,
    "ink": INK,
    "faint": FAINT,
    "grid": GRID,
    "solid": SOLID_FILL,
    "clear": CLEAR_FILL,
    "clear-line": CLEAR_LINE,
    "ledge": LEDGE_FILL,
    "ledge-line": LEDGE_LINE,
    "wire": WIRE_LINE,
    "inverter": INVERTER_FILL,
    "inverter-line": INVERTER_LINE,
    "buffer": BUFFER_FILL,
    "buffer-line": BUFFER_LINE,
    "pin": PIN_FILL,
    "on": ON,
    "on-ink": ON_INK,
    "on-line": ON_LINE,
    "on-pale": ON_PALE,
    "new": NEW_FILL,
    "new-line": NEW_LINE,
    "open-line": OPEN_LINE,
}
"""Every colour by its name; names become the variables ``--draw-NAME``. No two are equal."""

DARK = {
    "paper": "#171d25",
    "ink": "#e6ebf1",
    "faint": "#a9b4c0",
    "grid": "#3b4754",
    "solid": "#46525f",
    "clear": "#1d2833",
    "clear-line": "#9fbdd6",
    "ledge": "#3a3527",
    "ledge-line": "#d6c596",
    "wire": "#84baf2",
    "inverter": "#38294e",
    "inverter-line": "#ccb0f2",
    "buffer": "#173b31",
    "buffer-line": "#7fd6bb",
    "pin": "#e7ecf2",
    "on": "#ffb347",
    "on-ink": "#1a1206",
    "on-line": "#ffc670",
    "on-pale": "#4a3715",
    "new": "#2a3558",
    "new-line": "#dbe4ff",
    "open-line": "#f2a0c4",
}
"""The same names on a dark page."""

SHADES = {"side": 0.72, "front": 0.86}
"""Faces of bodies that turn away from the light, with the share of brightness they keep."""


def shaded(colour: str, light: float) -> str:
    """A colour ``#rrggbb`` with its brightness multiplied by ``light``, 0 to 1."""
    parts = [round(int(colour[at : at + 2], 16) * light) for at in (1, 3, 5)]
    return "#" + "".join(f"{part:02x}" for part in parts)


def with_shades(colours: Mapping[str, str]) -> dict[str, str]:
    """Every colour, with its shades as ``NAME-side`` and ``NAME-front``."""
    found = dict(colours)
    for name, colour in colours.items():
        for face, light in SHADES.items():
            found[f"{name}-{face}"] = shaded(colour, light)
    return found


def _by_colour() -> dict[str, str]:
    """The name of each colour that a drawing can use; plain colours take precedence over shades."""
    names: dict[str, str] = {}
    for name, colour in with_shades(LIGHT).items():
        names.setdefault(colour, name)
    return names


_NAMES = _by_colour()
_COLOUR = re.compile(r'="(#[0-9a-f]{6})"')


def name_of(colour: str) -> str:
    """The name of a colour of the palette, or of a shade of one."""
    return _NAMES[colour]


def themed(body: str) -> str:
    """A drawing whose colours a page can replace: ``#17212b`` becomes ``var(--draw-ink,#17212b)``.

    Colours that are not in the palette stay as they are.
    """

    def replace(found: re.Match[str]) -> str:
        name = _NAMES.get(found[1])
        return found[0] if name is None else f'="var(--draw-{name},{found[1]})"'

    return _COLOUR.sub(replace, body)


def theme_style(selector: str = ":root") -> str:
    """CSS that defines the variables of ``themed``: for light pages, and for dark ones.

    Print is always light, since paper is.
    """

    def variables(colours: Mapping[str, str]) -> str:
        return ";".join(f"--draw-{name}:{value}" for name, value in with_shades(colours).items())

    return (
        f"{selector}{{{variables(LIGHT)}}}\n"
        f"@media screen and (prefers-color-scheme:dark){{{selector}{{{variables(DARK)}}}}}\n"
    )
