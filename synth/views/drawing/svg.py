"""Scalable Vector Graphics in small pieces: elements as text, and pictures with a size.

Source of the language: W3C Recommendation SVG 1.1 (Second Edition); nothing newer is used, so
that every viewer can show it. No element carries an id, so that pictures can stand together on
one page.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from xml.sax.saxutils import escape, quoteattr

from synth.views.drawing.palette import FONT, INK, PAPER, themed

Point = tuple[float, float]


@dataclass(frozen=True, slots=True)
class Picture:
    """A drawing of ``width`` by ``height`` user units, with its corner at the origin."""

    width: float
    height: float
    body: str

    def inline(self, title: str, *, scale: float = 1.0) -> str:
        """The ``svg`` element for a page; ``title`` tells those who cannot see it what it shows.

        Its colours are those of the page's theme, if the page has one (``palette.theme_style``).
        """
        return self._element(title, themed(self.body), scale)

    def _element(self, title: str, body: str, scale: float = 1.0) -> str:
        return element(
            "svg",
            element("title", escape(title)) + body,
            xmlns="http://www.w3.org/2000/svg",
            viewBox=f"0 0 {number(self.width)} {number(self.height)}",
            width=self.width * scale,
            height=self.height * scale,
            role="img",
            font_family=FONT,
        )

    def document(self, title: str) -> str:
        """The drawing as a file of its own, with a background."""
        paper = element("rect", width=self.width, height=self.height, fill=PAPER)
        sheet = Picture(self.width, self.height, paper + self.body)
        return f'<?xml version="1.0" encoding="UTF-8"?>\n{sheet._element(title, sheet.body)}\n'


def number(value: float) -> str:
    """A coordinate rounded to a hundredth, written as short as possible."""
    text = f"{value:.2f}".rstrip("0").rstrip(".")
    return "0" if text == "-0" else text


def element(tag: str, body: str = "", /, **attributes: str | float) -> str:
    """One element; ``stroke_width=2`` becomes ``stroke-width="2"``."""
    words = []
    for name, value in attributes.items():
        text = value if isinstance(value, str) else number(value)
        words.append(f" {name.replace('_', '-') if name != 'viewBox' else name}={quoteattr(text)}")
    head = f"<{tag}{''.join(words)}"
    return f"{head}>{body}</{tag}>" if body else f"{head}/>"


def group(body: str, **attributes: str | float) -> str:
    """Elements that share attributes."""
    return element("g", body, **attributes) if body else ""


def shifted(body: str, x: float, y: float) -> str:
    """Elements moved right and down."""
    return group(body, transform=f"translate({number(x)} {number(y)})")


def path(points: Sequence[Point], *, closed: bool = False, **attributes: str | float) -> str:
    """Straight lines through the points."""
    words = " L".join(f"{number(x)} {number(y)}" for x, y in points)
    return element("path", d=f"M{words}{'Z' if closed else ''}", **attributes)


def lines(pairs: Iterable[tuple[Point, Point]], **attributes: str | float) -> str:
    """Separate straight lines as one element."""
    words = "".join(
        f"M{number(a[0])} {number(a[1])}L{number(b[0])} {number(b[1])}" for a, b in pairs
    )
    return element("path", d=words, fill="none", **attributes)


def text(
    words: str,
    x: float,
    y: float,
    *,
    size: float = 12,
    anchor: str = "start",
    fill: str = INK,
    weight: str = "normal",
    **attributes: str | float,
) -> str:
    """One line of text; ``y`` is its base line."""
    return element(
        "text",
        escape(words),
        x=x,
        y=y,
        font_size=size,
        text_anchor=anchor,
        fill=fill,
        font_weight=weight,
        **attributes,
    )


def text_width(words: str, size: float = 12) -> float:
    """An estimate of how wide a line of text is, never too narrow."""
    return 0.64 * size * len(words)
