"""Drawings that carry their colours for light and for dark pages with them.

A browser shows a drawing in an image by itself: it cannot see the variables of the page around it
(``palette.theme_style``). So such a drawing holds a style of its own.
"""

from __future__ import annotations

import re
from collections.abc import Mapping

from synth.views.drawing.palette import DARK, LIGHT, with_shades
from synth.views.drawing.svg import Picture

_COLOUR = re.compile(r"var\(--draw-([\w-]+),#[0-9a-f]{6}\)")


def self_themed(picture: Picture, title: str, *, scale: float = 1.0) -> str:
    """The ``svg`` element of a drawing, with a style that has a colour scheme for each theme."""
    used: list[str] = []

    def short(found: re.Match[str]) -> str:
        if found[1] not in used:
            used.append(found[1])
        return f"var(--c{used.index(found[1])})"

    drawn = _COLOUR.sub(short, picture.inline(title, scale=scale))
    start = drawn.index(">") + 1
    return f"{drawn[:start]}<style>{_style(used)}</style>{drawn[start:]}"


def _style(used: list[str]) -> str:
    """The style of a drawing: the colours that it uses, for light and for dark pages."""

    def variables(colours: Mapping[str, str]) -> str:
        shades = with_shades(colours)
        return ";".join(f"--c{number}:{shades[name]}" for number, name in enumerate(used))

    night = f"@media screen and (prefers-color-scheme:dark){{:root{{{variables(DARK)}}}}}"
    return f":root{{{variables(LIGHT)}}}{night}"
