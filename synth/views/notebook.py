"""What values look like in a notebook: layouts, verdicts, outcomes and frontiers as small pieces of
a page that need nothing around them.

They stand on paper of their own, because nobody knows whether the notebook is dark. Each kind of
value is loaded only by whoever has one.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from markupsafe import Markup

from synth.layout import Layout
from synth.layout.pins import show_size
from synth.simulator.verdict import Verdict
from synth.views.drawing.isometric import isometric_picture
from synth.views.drawing.layers import layers_picture
from synth.views.drawing.sheet import sheet_picture
from synth.views.drawing.svg import Picture
from synth.views.templating import drawn, render
from synth.views.text.verdict import delay_text
from synth.views.titles import title_of
from synth.words import counted

if TYPE_CHECKING:
    from synth.questions.outcome import Outcome
    from synth.reviewing import Review
    from synth.reviewing.comparing import Comparison
    from synth.search.frontier.frontier import Frontier

MOST_DRAWN = 2_000
"""Layouts of more parts are told in words only: a notebook keeps every picture in its file."""

WIDE = 420.0
"""The width of a row of layers, in units of the drawing."""

Row = tuple[str, str]


@dataclass(frozen=True, slots=True)
class Piece:
    """A piece of a notebook's page.

    Attributes:
        title: its first line.
        pictures: drawings beside each other, as markup.
        rows: a word and what is to be said of it, each.
        text: text that keeps its lines.
    """

    title: str
    pictures: Sequence[Markup] = ()
    rows: Sequence[Row] = ()
    text: str = ""

    def html(self) -> str:
        """The markup."""
        return render("notebook/piece.html", piece=self)


def shown(value: object, form: str) -> str | None:
    """A value as ``html`` or ``svg``; None where it has no such picture. See ``synth.showing``."""
    kind = type(value).__name__
    if form == "svg":
        picture = _PICTURES.get(kind)
        return picture(value) if picture else None
    piece = _PIECES.get(kind)
    return piece(value).html() if piece else None


def layout_piece(layout: Layout) -> Piece:
    """Layers, model and measures of a layout."""
    return Piece(title_of(layout), _drawings(layout), _layout_rows(layout))


def verdict_piece(verdict: Verdict) -> Piece:
    """Whether it passes, what was found, and every fault."""
    rows = [("legal", _yes(verdict.legal))]
    if verdict.legal:
        if verdict.function is not None:
            rows.append(("function", _yes(verdict.function)))
        rows.append(("delay", delay_text(verdict)))
        if verdict.stacks is not None:
            rows.append(("stacks", _yes(verdict.stacks)))
    rows += [(name, f"{column} (in counting order)") for name, column in _outputs(verdict).items()]
    rows += [(f"{fault.rule} at {list(fault.at)}", fault.text) for fault in verdict.faults]
    return Piece(f"Verdict: {'passes' if verdict.passes else 'FAILS'}", rows=rows)


def outcome_piece(outcome: Outcome) -> Piece:
    """The answer, what is claimed of it and on what that rests, and the layout."""
    rows = [
        (word, text)
        for word, text in (
            ("claim", outcome.claim),
            ("reason", outcome.reason),
            ("parts", outcome.parts),
            ("advice", "; ".join(outcome.advice)),
            ("assumed", "; ".join(outcome.assumed)),
        )
        if text
    ]
    if outcome.bound is not None and outcome.gap:
        rows.insert(0, ("bound", f"no {outcome.measures[0]} below {outcome.bound} is left open"))
    layout = outcome.layout
    if layout is None:
        return Piece(f"Outcome: {outcome.status}", rows=rows)
    if outcome.verdict is not None:
        rows.insert(0, ("delay", delay_text(outcome.verdict)))
    return Piece(f"Outcome: {outcome.status}", _drawings(layout), [*_layout_rows(layout), *rows])


def shrunk_piece(shrunk: Any) -> Piece:
    """From which size to which, and the best layout."""
    rows = [
        ("size", f"{show_size(shrunk.start.size)} to {show_size(shrunk.layout.size)}"),
        ("volume", f"{shrunk.start.volume} to {shrunk.layout.volume}"),
        ("parts", f"{shrunk.start.part_count} to {shrunk.layout.part_count}"),
        ("delay", delay_text(shrunk.verdict)),
        ("ended", shrunk.reason),
    ]
    return Piece(f"Shrunk: {title_of(shrunk.layout)}", _drawings(shrunk.layout), rows)


def frontier_piece(frontier: Frontier) -> Piece:
    """The plot, and a row a step."""
    from synth.views.frontier import chart_of
    from synth.views.text.frontier import frontier_text

    plot = drawn(frontier_svg(frontier))
    first, second = frontier.axes
    title = f"Frontier: smallest {first} for each {second}"
    return Piece(title, [plot], text=frontier_text(chart_of(frontier), frontier.assumed))


def comparison_piece(found: Comparison) -> Piece:
    """The answer, the measures of both, and both with what differs framed."""
    from synth.views.comparison import sides
    from synth.views.text.comparison import answer_words, facts

    names = ("A", "B")
    pictures = [_inline(side.picture, side.title) for side in sides(found, names)]
    rows = [(what, f"A: {a}; B: {b}") for what, a, b in facts(found, names)[1:]]
    return Piece(answer_words(found), pictures, rows)


def review_piece(review: Review) -> Piece:
    """The verdict's word, and the findings."""
    from synth.views.text.review import review_text

    word = "passes" if review.verdict.passes else "FAILS"
    return Piece(
        f"Review: {word}", _drawings(review.layout), text=review_text(review, everything=True)
    )


def layout_svg(layout: Layout) -> str | None:
    """The sheet of a layout; None of one that is too large."""
    if layout.part_count > MOST_DRAWN:
        return None
    return sheet_picture(layout).document(title_of(layout)).partition("?>\n")[2]


def frontier_svg(frontier: Frontier) -> str:
    """The plot of a frontier."""
    from synth.views.drawing.frontier_plot import frontier_plot
    from synth.views.frontier import chart_of

    document = frontier_plot(chart_of(frontier), "svg").decode()
    return document[document.index("<svg") :]


def _drawings(layout: Layout) -> list[Markup]:
    if layout.part_count > MOST_DRAWN:
        return []
    return [
        _inline(layers_picture(layout, width=WIDE), "The layers, lowest first"),
        _inline(isometric_picture(layout), "The layout from one corner, layers apart"),
    ]


def _inline(picture: Picture, title: str) -> Markup:
    return drawn(picture.inline(title))


def _layout_rows(layout: Layout) -> list[Row]:
    counts = layout.bill_of_materials()
    parts = ", ".join(f"{count} {name}" for name, count in counts.items()) or "none"
    rows = [
        ("size", f"{show_size(layout.size)} cells (length x width x height)"),
        ("volume", counted(layout.volume, "cell")),
        ("parts", f"{layout.part_count}: {parts}"),
    ]
    if layout.stack is not None:
        rows.append(("stack", f"along {layout.stack.axis} at pitch {layout.stack.pitch}"))
    return rows


def _outputs(verdict: Verdict) -> Mapping[str, str]:
    return verdict.outputs or {}


def _yes(value: bool | None) -> str:
    return {True: "yes", False: "NO", None: "not judged"}[value]


_PIECES: dict[str, Callable[[Any], Piece]] = {
    "Layout": layout_piece,
    "Verdict": verdict_piece,
    "Outcome": outcome_piece,
    "Shrunk": shrunk_piece,
    "Frontier": frontier_piece,
    "Comparison": comparison_piece,
    "Review": review_piece,
}

_PICTURES: dict[str, Callable[[Any], str | None]] = {
    "Layout": layout_svg,
    "Frontier": frontier_svg,
}
