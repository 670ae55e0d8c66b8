"""Words that many texts need: plurals, lists as sentences write them, columns."""

from __future__ import annotations

import textwrap
from collections.abc import Sequence

_PLURALS = {
    "box": "boxes",
    "class": "classes",
    "copy": "copies",
    "entry": "entries",
    "ledge": "ledges",
}
"""Plurals that are more than an ``s``."""

_UNITS = {"delay": "tick", "link": "tick", "link_delay": "tick", "parts": "part"}
"""What measures are counted in; all others are in cells."""

WIDTH = 80
"""Columns of a page of text."""

NOT_ELECTRICITY = "Layouts of an idealised block medium, not circuits for electricity."
"""What plans and files in formats of electronics say of every layout."""


def counted(count: int, thing: str) -> str:
    """``1 tick``, ``2 ticks``, ``0 boxes``: a number and what it counts, in the right form."""
    return f"{count:,} {thing if count == 1 else _PLURALS.get(thing, thing + 's')}"


def ticks(count: int) -> str:
    """``1 tick``, ``2 ticks``."""
    return counted(count, "tick")


def unit_of(measure: str) -> str:
    """``tick``, ``part`` or ``cell``: the unit of a measure (section 9), or of a limit on one."""
    return _UNITS.get(measure, "cell")


def in_units(measure: str, words: str | None = None) -> str:
    """The heading of numbers: ``delay, ticks``; of parts, ``parts``, which names the unit already.

    Args:
        measure: what they measure.
        words: what stands before the unit instead of the name of the measure.
    """
    words = measure if words is None else words
    units = f"{unit_of(measure)}s"
    return words if measure == units else f"{words}, {units}"


def listed(words: Sequence[str], last: str = "and") -> str:
    """``a``, ``a and b``, ``a, b and c``."""
    if len(words) < 2:
        return "".join(words)
    return f"{', '.join(words[:-1])} {last} {words[-1]}"


def filled(text: str, indent: str = "", *, width: int = WIDTH) -> str:
    """Text over as many lines as it needs; no word is broken, however long.

    Args:
        text: what begins with spaces keeps them.
        indent: what further lines begin with.
        width: columns of a line.
    """
    return textwrap.fill(
        text, width, subsequent_indent=indent, break_long_words=False, break_on_hyphens=False
    )


def columns(rows: Sequence[Sequence[str]], *, indent: str = "  ") -> list[str]:
    """Rows of cells as lines, each column as wide as its widest cell."""
    if not rows:
        return []
    widths = [max(len(row[index]) for row in rows) for index in range(len(rows[0]))]
    return [
        (indent + "  ".join(cell.ljust(w) for cell, w in zip(row, widths, strict=True))).rstrip()
        for row in rows
    ]
