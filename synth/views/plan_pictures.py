"""The pictures of a building plan: images that the page holds as text, one element each.

A plan of a thousand parts has about a hundred pictures of about a hundred shapes each. As elements
of the page they would make it too heavy for a phone. As images their letters stay sharp in print.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass

from markupsafe import Markup

from synth.layout import Layout
from synth.medium import Cell
from synth.views.drawing.isometric import isometric_picture
from synth.views.drawing.layers import LayerDrawer, Step
from synth.views.drawing.palette import DARK, LIGHT, with_shades
from synth.views.drawing.shown import Shown
from synth.views.drawing.svg import Picture
from synth.views.plan import PlanStep
from synth.views.templating import drawn as drawn_markup

FLAT_SCALE = 1.2
"""CSS pixels per unit of a layer: its smallest letters, of 9 units, are 8.1 points in print."""

_COLOUR = re.compile(r"var\(--draw-([\w-]+),#\w+\)")


@dataclass(frozen=True, slots=True)
class Image:
    """A picture as a page holds it: its address, its size in CSS pixels, and what it shows.

    The address is markup made here, without any character that could end an attribute in double
    quotes.
    """

    address: Markup
    width: int
    height: int
    words: str


def image_of(picture: Picture, words: str, *, scale: float = 1.0) -> Image:
    """A picture as an address that holds it; its colours are those for light and dark pages."""
    used: list[str] = []

    def short(found: re.Match[str]) -> str:
        if found[1] not in used:
            used.append(found[1])
        return f"var(--c{used.index(found[1])})"

    drawn = _COLOUR.sub(short, picture.inline(words, scale=scale))
    start = drawn.index(">") + 1
    text = f"{drawn[:start]}<style>{_style(used)}</style>{drawn[start:]}"
    # Font names need no quotes. With single quotes around attributes, only these two characters
    # have to be escaped in an address.
    text = text.replace("'", "").replace('"', "'").replace("%", "%25").replace("#", "%23")
    address = drawn_markup("data:image/svg+xml," + text.replace("&", "&amp;"))
    return Image(address, round(picture.width * scale), round(picture.height * scale), words)


def _style(used: list[str]) -> str:
    """The style of a drawing: the colours that it uses, for light and for dark pages."""

    def variables(colours: Mapping[str, str]) -> str:
        shades = with_shades(colours)
        return ";".join(f"--c{number}:{shades[name]}" for number, name in enumerate(used))

    night = f"@media screen and (prefers-color-scheme:dark){{:root{{{variables(DARK)}}}}}"
    return f":root{{{variables(LIGHT)}}}{night}"


class StepPictures:
    """Draws the steps of one plan, each cut down to what it touches."""

    def __init__(self, layout: Layout) -> None:
        self.layout = layout
        self._drawer = LayerDrawer(layout)

    def flat(self, step: PlanStep, placed: set[Cell], title: str) -> Image:
        """The layer at that stage, the new parts framed and numbered."""
        stage = Step(frozenset(placed), {p.cell: p.number for p in step.placements})
        picture = self._drawer.within(step.window).layer(step.z, stage, ghost=True)
        return image_of(picture, f"{title}, from above: the new parts are framed", scale=FLAT_SCALE)

    def space(self, step: PlanStep, placed: set[Cell], title: str) -> Image:
        """The same stage in three dimensions, with the layer below."""
        new = {p.cell for p in step.placements}
        shown = Shown(cells=placed | new, new=new)
        picture = isometric_picture(self.layout, apart=False, shown=shown, window=step.window)
        return image_of(picture, f"{title}, in space: the new parts have heavy edges")
