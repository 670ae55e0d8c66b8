"""A census as a poster: a card for each class of functions, with its layout and what is known.

Cards come in the order of their places, from the smallest box up; small ones without a layout come
last. Where there are few, a card also shows the layers from above; where there are many, it shows
the body alone. A filled square in the strip of a truth table is a 1, an empty one a 0, a dot a
don't care. What is the smallest says so in words, and has a thick frame.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from textwrap import wrap

from synth.census.result import Census, Class
from synth.layout.pins import show_size
from synth.spec.classes import Columns
from synth.spec.function_names import function_name
from synth.views.drawing import palette
from synth.views.drawing.isometric import isometric_picture
from synth.views.drawing.layers import layers_picture
from synth.views.drawing.sheet import key_picture
from synth.views.drawing.svg import Picture, element, group, number, text, text_width
from synth.views.text.census import function_words
from synth.words import counted, ticks

_MARGIN, _GAP, _PAD = 48.0, 18.0, 14.0
_EMPTY = 70.0
"""The height of a card without a layout."""

_FEW = 16
"""So many classes have cards with layers; more have small ones."""


@dataclass(frozen=True, slots=True)
class _Size:
    """How large cards are and what is on them, and how many stand in a row.

    ``layers`` is the room for layers seen from above, 0 for none.
    """

    width: float
    body: float
    layers: float
    letters: float
    square: float
    columns: int

    @property
    def height(self) -> float:
        """Of a card."""
        return _PAD + 64 + self.body + (self.layers + 10 if self.layers else 0) + 44


_LARGE = _Size(width=330, body=230, layers=150, letters=18, square=12, columns=4)
_SMALL = _Size(width=214, body=150, layers=0, letters=15, square=10, columns=8)


def poster_picture(census: Census, title: str | None = None) -> Picture:
    """The poster.

    Args:
        census: the census.
        title: in the place of "Every function of two inputs" and the like.
    """
    others = [
        columns
        for columns in census.asked.counted or ()
        if columns not in {one.columns for one in census.classes}
    ]
    size = _LARGE if len(census.classes) + len(others) <= _FEW else _SMALL
    width = size.columns * (size.width + _GAP) - _GAP
    head, y = _head(census, title, width)
    body = [head]
    cards = [_card(census, one, size) for one in census.classes]
    y += _in_rows(body, cards, size, size.height, y)
    if others:
        why = "No layout in these boxes" if census.complete else "Not found yet"
        body.append(text(f"{why}: {len(others)}", 0, y + 26, size=20, weight="bold"))
        y += 42
        small = [_empty_card(census, columns, size) for columns in others]
        y += _in_rows(body, small, size, _EMPTY, y)
    foot, height = _foot(census, width)
    body.append(_placed(foot, 0, y + 8))
    return Picture(
        width + 2 * _MARGIN,
        y + 8 + height + 2 * _MARGIN,
        _placed("".join(body), _MARGIN, _MARGIN),
    )


def _in_rows(body: list[str], cards: list[str], size: _Size, height: float, top: float) -> float:
    """Put cards of one height in rows, and say how high these are together."""
    for index, card in enumerate(cards):
        row, column = divmod(index, size.columns)
        body.append(_placed(card, column * (size.width + _GAP), top + row * (height + _GAP)))
    return -(-len(cards) // size.columns) * (height + _GAP)


def _placed(body: str, x: float, y: float, scale: float = 1.0) -> str:
    shrunk = "" if scale == 1 else f" scale({number(scale)})"
    return group(body, transform=f"translate({number(x)} {number(y)}){shrunk}")


def poster_title(census: Census) -> str:
    """What a poster is called: ``Every function of two inputs``."""
    function = census.asked.problem.spec.function
    words = ("no", "one", "two", "three", "four")
    inputs, outputs = len(function.inputs), len(function.outputs)
    of = f"{words[inputs]} input{'s' if inputs > 1 else ''}"
    with_outputs = "" if outputs == 1 else f" and {words[outputs]} outputs"
    return f"Every function of {of}{with_outputs}"


def _head(census: Census, title: str | None, width: float) -> tuple[str, float]:
    """Title and what was asked; with the height that they take."""
    problem = census.asked.problem
    spec, limits = problem.spec, problem.limits
    said = [f"Each with its smallest layout by {', then '.join(problem.measures)}"]
    if census.asked.box is not None:
        said = [f"In a box of {show_size(census.asked.box)} cells"]
    if spec.stack is not None:
        said.append(f"to be stacked along {spec.stack.axis}")
    joints = {str(spec.joint(name)) for name in spec.pin_names}
    said += [f"{joint} joints" for joint in sorted(joints)]
    assert limits.delay is not None
    said.append(f"settled within {ticks(limits.delay)}")
    sides = "at most " + " x ".join(
        str(getattr(limits, name)) for name in ("length", "width", "height")
    )
    if census.asked.box is None:
        said.append(f"in boxes of {sides} cells")
        if limits.volume is not None:
            said.append(f"volume at most {limits.volume}")
    body = [text(title or poster_title(census), 0, 40, size=44, weight="bold")]
    y = 74.0
    for line in wrap(", ".join(said) + ".", int(width / 9.5)):
        body.append(text(line, 0, y, size=17, fill=palette.FAINT))
        y += 24
    return "".join(body), y + 16


def _card(census: Census, one: Class, size: _Size) -> str:
    """A function with its layout."""
    body = [
        _frame(size.width, size.height, strong=one.smallest),
        _heading(census, one.columns, size),
    ]
    top = _PAD + 64
    view = isometric_picture(one.layout, apart=False, words=False)
    body.append(_fitted(view, size.width, size.body, top))
    y = top + size.body
    if size.layers:
        body.append(_fitted(_layers(one, size), size.width, size.layers, y + 10))
        y += size.layers + 10
    facts = f"{show_size(one.layout.size)}, {counted(one.layout.part_count, 'part')}"
    known = _known(census, one)
    body.append(text(facts, _PAD, y + 18, size=12))
    settled = f"{counted(one.layout.volume, 'cell')}, {ticks(one.delay)}"
    body.append(text(settled, _PAD, y + 35, size=12, weight="bold"))
    body.append(text(known, size.width - _PAD, y + 35, size=12, anchor="end", fill=palette.FAINT))
    return "".join(body)


def _layers(one: Class, size: _Size) -> Picture:
    """The layers from above, in as many rows as make them largest."""
    pictures = [layers_picture(one.layout, width=width) for width in (200, 300, 400, 560, 760)]
    room = size.width - 2 * _PAD
    return max(pictures, key=lambda found: min(room / found.width, size.layers / found.height))


def _known(census: Census, one: Class) -> str:
    if census.asked.box is not None:
        return "fits"
    return "smallest" if one.smallest else "best known"


def _empty_card(census: Census, columns: Columns, size: _Size) -> str:
    """A function without a layout."""
    return _frame(size.width, _EMPTY, dashed=True) + _heading(census, columns, size)


def _frame(width: float, height: float, *, strong: bool = False, dashed: bool = False) -> str:
    dash = {"stroke_dasharray": "6 5"} if dashed else {}
    return element(
        "rect",
        width=width,
        height=height,
        rx=6.0,
        fill=palette.PAPER,
        stroke=palette.INK if strong else palette.FAINT,
        stroke_width=2.0 if strong else 1.0,
        **dash,
    )


def _heading(census: Census, columns: Columns, size: _Size) -> str:
    """Expression, name and the strip of the truth table."""
    words = function_words(census, columns)
    name = function_name(columns[0]) if len(columns) == 1 else ""
    letters, room = size.letters, size.width - 2 * _PAD
    while letters > 8 and text_width(words, letters) * 0.92 > room:
        letters -= 0.5
    right = size.width - _PAD
    return "".join(
        [
            text(words, _PAD, _PAD + 16, size=letters, weight="bold"),
            _strips(columns, size.square),
            text(name, right, _PAD + 40, size=11, anchor="end", fill=palette.FAINT),
        ]
    )


def _strips(columns: Sequence[str], side: float) -> str:
    """A row of squares for each output: the truth table in counting order."""
    side = side if len(columns[0]) <= 8 else 0.7 * side
    body = []
    for line, column in enumerate(columns):
        for row, value in enumerate(column):
            x, y = _PAD + row * (side + 2), _PAD + 28 + line * (side + 3)
            body.append(_SQUARES[value](x, y, side))
    return "".join(body)


def _square(fill: str) -> Callable[[float, float, float], str]:
    def drawn(x: float, y: float, side: float) -> str:
        return element(
            "rect", x=x, y=y, width=side, height=side, fill=fill, stroke=palette.INK,
            stroke_width=1.0,
        )  # fmt: skip

    return drawn


def _dot(x: float, y: float, side: float) -> str:
    return element("circle", cx=x + side / 2, cy=y + side / 2, r=1.8, fill=palette.INK)


_SQUARES = {"1": _square(palette.INK), "0": _square(palette.PAPER), "-": _dot}


def _fitted(picture: Picture, width: float, height: float, y: float) -> str:
    """A picture in the middle of a strip of a card, little larger than it is drawn."""
    room = width - 2 * _PAD
    scale = min(1.25, room / picture.width, height / picture.height)
    x = (width - picture.width * scale) / 2
    return _placed(picture.body, x, y + (height - picture.height * scale) / 2, scale)


def _foot(census: Census, width: float) -> tuple[str, float]:
    """The key of symbols, how to read a card, and the claim; with the height that they take."""
    key = key_picture(width=min(width, 760))
    lines = [
        "How to read a card. Squares: the output for every assignment in counting order, the first "
        "input the most significant; filled is 1. Thick frame: known to be the smallest.",
        f"A card stands for its class: inputs may be exchanged. {_claimed(census)}",
    ]
    x = key.width + 40 if width > key.width + 400 else 0.0
    y = 12.0 if x else key.height + 20
    body, top = [key.body], y
    for line in lines:
        for piece in wrap(line, max(40, int((width - x) / 7.4))):
            body.append(text(piece, x, y + 8, size=12, fill=palette.FAINT))
            y += 18
        y += 8
    return "".join(body), max(key.height, y if not x else y - top + 20)


def _claimed(census: Census) -> str:
    claim = census.asked.claim(len(census.classes), complete=census.complete)
    return f"{claim[0].upper()}{claim[1:]}."
