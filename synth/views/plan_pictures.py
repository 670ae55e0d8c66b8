"""The pictures of a building plan: images that the page holds as text, one element each.

A plan of a thousand parts has about a hundred pictures of about a hundred shapes each. As elements
of the page they would make it too heavy for a phone. As images their letters stay sharp in print.
"""

from __future__ import annotations

from dataclasses import dataclass

from markupsafe import Markup

from synth.layout import Layout, Piece
from synth.medium import Cell
from synth.views.drawing.isometric import isometric_picture
from synth.views.drawing.layers import LayerDrawer, Step
from synth.views.drawing.palette import INK, NEW_LINE, PAPER
from synth.views.drawing.self_themed import self_themed
from synth.views.drawing.shown import Shown
from synth.views.drawing.svg import Picture, element, number
from synth.views.plan_steps import PlanStep
from synth.views.templating import drawn as drawn_markup

FLAT_SCALE = 1.2
"""CSS pixels per unit of a layer: its smallest letters, of 9 units, are 8.1 points in print."""


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
    text = self_themed(picture, words, scale=scale)
    # Font names need no quotes. With single quotes around attributes, only these two characters
    # have to be escaped in an address.
    text = text.replace("'", "").replace('"', "'").replace("%", "%25").replace("#", "%23")
    address = drawn_markup("data:image/svg+xml," + text.replace("&", "&amp;"))
    return Image(address, round(picture.width * scale), round(picture.height * scale), words)


class StepPictures:
    """Draws the steps of one plan, each cut down to what it touches."""

    def __init__(self, layout: Layout) -> None:
        self.layout = layout
        self._drawer = LayerDrawer(layout)

    def flat(self, step: PlanStep, placed: set[Cell], title: str) -> Image:
        """The layer at that stage, the new parts framed and numbered."""
        stage = Step(frozenset(placed), {p.cell: p.number for p in step.placements})
        picture = self._drawer.within(step.window).layer(step.z, stage)
        return image_of(picture, f"{title}, from above: the new parts are framed", scale=FLAT_SCALE)

    def space(self, step: PlanStep, placed: set[Cell], title: str) -> Image:
        """The same stage in three dimensions, with the layer below."""
        new = {p.cell for p in step.placements}
        shown = Shown(cells=placed | new, new=new)
        picture = isometric_picture(self.layout, apart=False, shown=shown, window=step.window)
        return image_of(picture, f"{title}, in space: the new parts have heavy edges")


MAP_WIDE = 260.0
"""The most that a map of the floor is wide, in CSS pixels."""


def floor_map(layout: Layout, piece: Piece) -> Image:
    """The floor of the box, small, with the cells that a piece stands over; y up the page."""
    scale = min(8.0, MAP_WIDE / layout.length)
    length, width = layout.length * scale, layout.width * scale
    box = element("rect", x=2, y=2, width=length, height=width, fill=PAPER, stroke=INK)
    footprint = sorted({(cell[0], cell[1]) for cell in piece.cells})
    squares = "".join(
        f"M{number(2 + x * scale)} {number(2 + (layout.width - 1 - y) * scale)}"
        f"h{number(scale)}v{number(scale)}h-{number(scale)}z"
        for x, y in footprint
    )
    marked = element("path", d=squares, fill=NEW_LINE, stroke=NEW_LINE, stroke_width=1)
    words = f"Where {piece.title} lies on the floor of the box, seen from above"
    return image_of(Picture(length + 4, width + 4, box + marked), words)
