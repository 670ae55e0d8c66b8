"""Text of boolean expressions cut into tokens, as IEEE Std 1364-2005 cuts it (section 3).

What that standard has and one-bit nets do not need (arithmetic, reduction, selects of more than a
bit, other numbers) is refused here, each with what to write instead. What is said of it is from
memory.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass

from synth import fields
from synth.errors import InputError
from synth.printable import pointed

BINARY = ("&", "^", "^~", "~^", "|")
"""The binary operators; ``^~`` and ``~^`` are both the exclusive-nor."""


@dataclass(frozen=True, slots=True)
class Token:
    """A piece of text and where it begins.

    Attributes:
        kind: ``name``, ``0``, ``1``, ``newline``, ``end``, or the operator itself.
        text: as written.
        start: its offset in the text, in characters from 0.
    """

    kind: str
    text: str
    start: int


# Longest first where one begins another: the standard reads the longest operator it can.
_REFUSED = {
    "===": "write ~^ for equal",
    "!==": "write ^ for not equal",
    "==": "write ~^ for equal",
    "!=": "write ^ for not equal",
    "<->": "write ~^ for equal",
    "&&": "write & for and",
    "||": "write | for or",
    "->": "write ~a | b for a implies b",
    "=>": "write ~a | b for a implies b",
    "<<": "nets are one bit wide, nothing shifts",
    ">>": "nets are one bit wide, nothing shifts",
    "<=": "write ~a | b for a less than or equal to b",
    ">=": "write a | ~b for a greater than or equal to b",
    "**": "write & for and",
    "~&": "it is a reduction operator, and nets are one bit wide; write ~(a & b)",
    "~|": "it is a reduction operator, and nets are one bit wide; write ~(a | b)",
    "!": "write ~ for not",
    "+": "write | for or, ^ for the sum of two bits",
    "-": "write ^ for the difference of two bits, ~ for not",
    "*": "write & for and",
    "/": "there is no arithmetic; write comments as // to the end of the line",
    "%": "there is no arithmetic on one-bit nets",
    "<": "write ~a & b for a less than b",
    ">": "write a & ~b for a greater than b",
    "[": "nets are one bit wide; name a single bit, as a[0]",
    "]": "nets are one bit wide; name a single bit, as a[0]",
    "{": "nets are one bit wide, nothing is joined; give every bit an output of its own",
    "}": "nets are one bit wide, nothing is joined; give every bit an output of its own",
    "'": "write ~a for not a, 1'b0 and 1'b1 for the constants",
    '"': "write names without quotes",
    "\\": "escaped identifiers are not read; use letters, digits, _ and $",
    ",": "separate assignments with ;",
    ".": "use letters, digits, _ and $ in names",
    "\N{NOT SIGN}": "write ~ for not",
    "\N{LOGICAL AND}": "write & for and",
    "\N{MIDDLE DOT}": "write & for and",
    "\N{LOGICAL OR}": "write | for or",
    "\N{CIRCLED PLUS}": "write ^ for exclusive-or",
}

_WORD_HINTS = {
    "not": "write ~ for not",
    "and": "write & for and",
    "or": "write | for or",
    "xor": "write ^ for exclusive-or",
    "nand": "write ~(a & b)",
    "nor": "write ~(a | b)",
    "xnor": "write ~^ for exclusive-nor",
}

RESERVED = frozenset({*_WORD_HINTS, "assign"})
"""Words that no signal of an equation can be called."""

_LONG_REFUSED = "|".join(re.escape(word) for word in _REFUSED if len(word) > 1)

_TOKEN = re.compile(
    rf"""
      (?P<space>[^\S\n]+ | //[^\n]* | /\*.*?\*/)
    | (?P<newline>\n)
    | (?P<constant>1[ \t]*'[bB][ \t]*[01](?![0-9A-Za-z_]))
    | (?P<number>[0-9][0-9A-Za-z_]*(?:[ \t]*'[ \t]*[sS]?[A-Za-z]?[ \t]*[0-9A-Za-z_?]*)?
               | '[sS]?[bBdDhHoO][ \t]*[0-9A-Za-z_?]+)
    | (?P<name>{fields.NAME_PATTERN.pattern})
    | (?P<refused>{_LONG_REFUSED})
    | (?P<operator>\^~|~\^|[~&^|?:()=;])
    | (?P<other>.)
    """,
    re.VERBOSE | re.DOTALL,
)


@dataclass(frozen=True, slots=True)
class Source:
    """A text that errors point into.

    Attributes:
        text: the whole of it.
        within: the place it has in a document (``outputs.q``), or None.
    """

    text: str
    within: str | None = None

    def error(self, start: int, problem: str, way_out: str) -> InputError:
        """An error at a character; below the message a caret points at it."""
        place = f"{self.within}, {self.place(start)}" if self.within else self.place(start)
        return InputError(problem, place=place, way_out=f"{way_out}\n{self.caret(start)}")

    def place(self, start: int) -> str:
        """``column 7``, or ``line 2, column 7`` where there are several lines; from 1."""
        line = self.text.count("\n", 0, start)
        column = start - self._line_start(start) + 1
        several = "\n" in self.text.rstrip("\n")
        return f"line {line + 1}, column {column}" if several else f"column {column}"

    def caret(self, start: int) -> str:
        """The line around ``start``, and below it a caret under that character."""
        begin = self._line_start(start)
        end = self.text.find("\n", start)
        return pointed(self.text[begin : end if end >= 0 else None], start - begin)

    def _line_start(self, start: int) -> int:
        return self.text.rfind("\n", 0, start) + 1


def tokens(source: Source) -> Iterator[Token]:
    """The tokens of a text, comments and spaces left out, closed by an ``end``.

    Raises:
        InputError: at the first character that begins no token of one-bit expressions.
    """
    for match in _TOKEN.finditer(source.text):
        kind, word, start = match.lastgroup, match[0], match.start()
        if kind == "newline":
            yield Token("newline", word, start)
        elif kind == "constant":
            yield Token(word[-1], word, start)
        elif kind == "name":
            if word in _WORD_HINTS:
                raise source.error(start, f"{word!r} is a reserved word", _WORD_HINTS[word])
            yield Token("assign" if word == "assign" else "name", word, start)
        elif kind == "operator":
            yield Token(word, word, start)
        elif kind == "number":
            raise source.error(
                start,
                f"the number {fields.shown(word)} is no one-bit constant",
                "write 1'b0 or 1'b1; names begin with a letter or _",
            )
        elif kind in ("refused", "other"):
            if source.text.startswith("/*", start):
                raise source.error(start, "a comment that is not closed", "end it with */")
            way_out = _REFUSED.get(word, "use names, ~ & | ^ ~^ ?: ( ), 1'b0 and 1'b1")
            raise source.error(start, f"{word!r} is not used here", way_out)
    yield Token("end", "", len(source.text))
