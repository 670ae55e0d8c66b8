"""Rows of a drawing: cells between bars, and what stands beside them."""

from __future__ import annotations

import re
from dataclasses import dataclass, field

from synth import fields
from synth.errors import InputError
from synth.layout.drawing.glyphs import ALL_GLYPHS, BLOCKS, CELL, POWERED_CELL, SLOW_BUFFERS
from synth.layout.drawing.source import Source, Spot, first_column
from synth.medium import WIRE, Block, Direction

_NAME = f"{fields.NAME_PATTERN.pattern}+"  # possessive: never less than the whole name
_BESIDE = re.compile(
    rf"\s*+(?:(?P<right_arrow>[<>])\s?(?P<right>{_NAME}))?"
    rf"\s*+(?:(?P<number>\d{{1,6}})(?=\s|$))?\s*+(?:(?P<left>{_NAME})\s?(?P<left_arrow>[<>]))?\s*+"
)
"""What may stand between two bars that are no frame's: the pin of the row on the left; the number
and the pin of the row on the right."""


@dataclass(slots=True)
class Row:
    """A row of cells between bars, each with its first column; what stands beside it."""

    line: int
    end: int
    cells: list[tuple[int, Block | Direction | None]]
    number: tuple[int, Spot] | None = None
    marks: list[tuple[str, Direction, str, Spot]] = field(default_factory=list)


def begins_row(text: str) -> bool:
    """Whether a line begins as rows do: with no more than a number and a pin before a bar."""
    return _BESIDE.fullmatch(text.partition("|")[0]) is not None


def read_rows(source: Source, line: int, text: str, *, powered: bool) -> list[Row]:
    """The rows that stand side by side in a line.

    Args:
        source: the whole text.
        line: the line's number, from 0.
        text: the line without comment; there is a bar in it.
        powered: whether the drawing shows power.
    """
    parts = text.split("|")
    columns = [0]
    for part in parts:
        columns.append(columns[-1] + len(part) + 1)
    if len(parts) % 2 == 0:
        raise source.error(
            Spot(line, text.rindex("|")),
            "a row with a bar missing",
            "put the cells of a row between two bars: | ## ++ |",
        )
    rows = [
        Row(
            line, columns[at + 1] - 1, _cells(source, line, parts[at], columns[at], powered=powered)
        )
        for at in range(1, len(parts), 2)
    ]
    for gap in range(0, len(parts), 2):
        _beside(source, line, parts[gap], columns[gap], rows, gap // 2)
    return rows


def _cells(
    source: Source, line: int, text: str, start: int, *, powered: bool
) -> list[tuple[int, Block | Direction | None]]:
    pattern = POWERED_CELL if powered else CELL
    cells: list[tuple[int, Block | Direction | None]] = []
    at = 0
    while True:
        while at < len(text) and text[at].isspace():
            at += 1
        if at == len(text):
            break
        found = pattern.match(text, at)
        if found is None:
            raise _no_cell(source, line, text, at, start)
        cells.append((start + at, _meaning(found)))
        at = found.end()
        if powered and text.startswith("*", at):
            at += 1
    if not cells:
        raise source.error(
            Spot(line, start), "a row without a cell", "write a dot for each empty cell"
        )
    return cells


def _no_cell(source: Source, line: int, text: str, at: int, start: int) -> InputError:
    """What is said of characters that are no part."""
    word = text[at : at + 2].rstrip()
    ways = f"write one of {ALL_GLYPHS}"
    if len(word) == 1 and word in "#:=+":
        ways = f"write it twice, {word * 2}: every cell is a pair of characters"
    elif word[0].isdigit() and word[0] != "0":
        ways = "a buffer is its delay, 1 to 9, and the way it points: 1< 1> 1^ 1v"
        if len(word) == 1 or word.isdigit():
            ways += "; a wire is ++, whatever its strength"
    elif word[0] == "~":
        ways = "an inverter is ~ and the side its host is on: ~< ~> ~^ ~v ~_"
    return source.error(
        Spot(line, start + at), f"{fields.shown(word)} is no part", ways
    )  # fmt: skip


def _beside(source: Source, line: int, text: str, start: int, rows: list[Row], frame: int) -> None:
    """The number and pins between the frames ``frame - 1`` and ``frame`` of a line."""
    found = _BESIDE.fullmatch(text)
    here = Spot(line, start + first_column(text))
    if (
        found is None
        or (frame == 0 and found["right"])
        or (frame == len(rows) and (found["left"] or found["number"]))
    ):
        raise source.error(
            here,
            f"cannot read {fields.shown(text.strip())} beside a row",
            "write pins as a>| or |>q, their names beginning with a letter; the number of a "
            "row before it; comments behind //",
        )
    if found["right"]:
        spot = Spot(line, start + found.start("right"))
        row = rows[frame - 1]
        row.marks.append((found["right"], Direction.PX, found["right_arrow"], spot))
    if found["left"]:
        spot = Spot(line, start + found.start("left"))
        rows[frame].marks.append((found["left"], Direction.NX, found["left_arrow"], spot))
    if found["number"]:
        rows[frame].number = (int(found["number"]), Spot(line, start + found.start("number")))


def _meaning(found: re.Match[str]) -> Block | Direction | None:
    if found.groupdict().get("strength"):
        return WIRE
    word = found[0]
    return SLOW_BUFFERS[word] if word in SLOW_BUFFERS else BLOCKS[word.strip()]
