"""A comparison of two layouts as a sheet and as a page: the plans frame what differs."""

from __future__ import annotations

from dataclasses import dataclass

from synth.layout import Layout
from synth.medium import Cell
from synth.reviewing.comparing import Comparison
from synth.views.drawing import palette
from synth.views.drawing.layers import layers_picture
from synth.views.drawing.legend import legend
from synth.views.drawing.palette import theme_style
from synth.views.drawing.sheet import key_picture
from synth.views.drawing.shown import Shown
from synth.views.drawing.svg import Picture, shifted, text, text_width
from synth.views.plan_pictures import FLAT_SCALE, Image, image_of
from synth.views.templating import drawn, render
from synth.views.text.comparison import SIGNS, answer_words, differences, facts, signs_words
from synth.words import NOT_ELECTRICITY

_MARGIN = 24.0
_LINE = 18.0
_GAP = 30.0
WIDE = 640.0
"""The width of a row of layers, in units of the drawing."""


@dataclass(frozen=True, slots=True)
class Side:
    """One of the two layouts: how it is called, and its plans with what differs framed."""

    title: str
    signs: str
    picture: Picture


def sides(found: Comparison, names: tuple[str, str]) -> list[Side]:
    """Both layouts, called by the names given."""
    return [
        _side("A", found.first, names[0], found.lit(second=False)),
        _side("B", found.second, names[1], found.lit(second=True)),
    ]


def _side(letter: str, layout: Layout, name: str, lit: dict[Cell, str]) -> Side:
    shown = Shown(signs={cell: SIGNS[kind] for cell, kind in lit.items()})
    words = signs_words(lit) or "nothing is framed: every part of it is in the other as well"
    return Side(f"{letter}: {name}", words, layers_picture(layout, width=WIDE, shown=shown))


def comparison_svg(found: Comparison, names: tuple[str, str]) -> str:
    """One sheet: the answer, the measures of both, their layers, the key of symbols.

    Args:
        found: the comparison.
        names: what the layouts are called.
    """
    title = "Comparison"
    body = [text(title, _MARGIN, _MARGIN + 20, size=22, weight="bold")]
    answer = answer_words(found)
    body.append(text(answer, _MARGIN, _MARGIN + 42))
    width = text_width(answer, 12)
    y = _MARGIN + 42 + 2 * _LINE
    rows = [("", "A", "B"), *facts(found, names)]
    stops = [0.0]
    for column in range(2):
        stops.append(stops[-1] + max(text_width(row[column], 12) for row in rows) + 24)
    for row in rows:
        for words, x in zip(row, stops, strict=True):
            weight = "bold" if x == 0 or not row[0] else "normal"
            body.append(text(words, _MARGIN + x, y, weight=weight))
        y += _LINE
        width = max(width, stops[-1] + text_width(row[2], 12))
    y += _GAP / 2
    for side in sides(found, names):
        body.append(text(side.title, _MARGIN, y, size=15, weight="bold"))
        body.append(text(side.signs, _MARGIN, y + _LINE, fill=palette.FAINT))
        body.append(shifted(side.picture.body, _MARGIN, y + 2 * _LINE))
        y += 2 * _LINE + side.picture.height + _GAP
        width = max(width, side.picture.width, text_width(side.signs, 12))
    key = key_picture()
    body.append(shifted(key.body, _MARGIN, y))
    sheet = Picture(
        max(width, key.width) + 2 * _MARGIN, y + key.height + _MARGIN, "".join(body)
    )  # fmt: skip
    return sheet.document(title)


def comparison_html(found: Comparison, names: tuple[str, str]) -> str:
    """A page that needs nothing else; arguments as ``comparison_svg``."""
    return render(
        "compare/compare.html",
        theme=drawn(theme_style()),
        medium=NOT_ELECTRICITY,
        answer=answer_words(found),
        stand={True: "passes", False: "fails", None: "open"}[found.same_function],
        facts=facts(found, names),
        sides=[(side.title, side.signs, _image(side)) for side in sides(found, names)],
        differences=differences(found),
        legend=[(drawn(entry.picture().inline(entry.words)), entry.words) for entry in legend()],
    )


def _image(side: Side) -> Image:
    return image_of(side.picture, f"The layers of {side.title}, lowest first", scale=FLAT_SCALE)
