"""The text of a drawing, and errors that point into it."""

from __future__ import annotations

import re
from dataclasses import dataclass

from synth.errors import InputError
from synth.printable import pointed

TAB = 8
"""Columns from one tab stop to the next (IEEE Std 1003.1, from memory)."""


MAX_CHARACTERS = 4 * 1024 * 1024
"""Most characters of a drawing; the largest box there may be takes less than 2 million."""

_QUOTED = re.compile(r'\s*[A-Za-z]++\s*+[:=]?\s*+"(?:[^"\\]|\\.)*"')
"""A heading whose value is in quotes: what looks like a comment inside them is none."""


@dataclass(frozen=True, slots=True)
class Spot:
    """A place in the text: its line and column, both from 0."""

    line: int
    column: int


@dataclass(frozen=True, slots=True)
class Source:
    """The lines of a drawing, tabs as spaces; columns are those of a terminal."""

    lines: tuple[str, ...]

    @staticmethod
    def of(text: str) -> Source:
        """The lines of a text, whichever way they end.

        Raises:
            InputError: if it is longer than a drawing may be.
        """
        if len(text) > MAX_CHARACTERS:
            raise InputError(
                f"a drawing of {len(text):,} characters", way_out=f"use at most {MAX_CHARACTERS:,}"
            )
        whole = text.replace("\r\n", "\n").replace("\r", "\n")
        return Source(tuple(line.expandtabs(TAB).rstrip() for line in whole.split("\n")))

    def code(self, line: int) -> str:
        """A line without its comment, and without spaces behind it."""
        text = self.lines[line]
        quoted = _QUOTED.match(text)
        comment = text.find("//", quoted.end() if quoted else 0)
        return text if comment < 0 else text[:comment].rstrip()

    def error(self, spot: Spot, problem: str, way_out: str) -> InputError:
        """An error at a spot; below the message the line, and a caret that points into it."""
        place = f"line {spot.line + 1}, column {spot.column + 1}"
        excerpt = pointed(self.lines[spot.line], spot.column)
        return InputError(problem, place=place, way_out=f"{way_out}\n{excerpt}")


def first_column(text: str) -> int:
    """Where a line begins."""
    return len(text) - len(text.lstrip())
