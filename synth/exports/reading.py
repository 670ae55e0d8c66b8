"""Lists of parts read back: comma-separated values, and lines by a template of the builder's."""

from __future__ import annotations

import csv
import io
import re
import string
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass

from synth import fields
from synth.errors import InputError
from synth.exports.lines import Names, Placing, check_template
from synth.exports.naming import Blocks, Entry, blocks_named
from synth.layout import Layout
from synth.layout.documents import MAX_CELLS, check_size
from synth.layout.pins import show_size
from synth.layout.transform import mirrored, turned
from synth.medium import (
    Block,
    Cell,
    Size,
)
from synth.words import listed

MAX_LINE = 2_000
"""Most characters of a line."""

COLUMNS = ("x", "y", "z", "part", "orientation", "delay")
"""Columns of comma-separated values; the first four have to be there."""

_NUMBERS = ("x", "y", "z", "delay", "number")
_NEEDED = ("x", "y", "z", "part")
_NUMBER_FORMAT = re.compile(r"(?:[ 0]?[<>=^])?[+ -]?0?\d*d?")
_TEXT_FORMAT = re.compile(r"(?: ?[<>^])?\d*s?")
_WHOLE = re.compile(r"[+-]?[0-9]{1,10}")


@dataclass(frozen=True, slots=True)
class Imported:
    """A layout made of a list.

    Attributes:
        layout: the parts in a box; without pins.
        corner: where its lowest corner lay in the builder's world, before it was turned back.
        guessed: how many buffers the list gives no delay of; they have the least there may be.
    """

    layout: Layout
    corner: Cell
    guessed: int


def read_csv(text: str) -> Iterator[Entry]:
    """The entries of comma-separated values: a header, then a line a part (RFC 4180, from memory).

    Semicolons or tabs may part the values as well, and columns may stand in any order.

    Raises:
        InputError: naming line and column.
    """
    header = text.partition("\n")[0]
    delimiter = next((sign for sign in (",", ";", "\t") if sign in header), ",")
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=delimiter)
    try:
        first = next(reader, None)
        columns = [name.strip().lower() for name in first or ()]
        _check_columns(columns)
        for row in reader:
            place = f"line {reader.line_num}"
            if not any(value.strip() for value in row):
                continue
            if len(row) != len(columns):
                raise InputError(
                    f"{len(row)} values for {len(columns)} columns",
                    place=place,
                    way_out=f"give a value, or none, for each of {', '.join(columns)}",
                )
            yield _entry(dict(zip(columns, map(str.strip, row), strict=True)), place)
    except csv.Error as error:
        raise InputError(f"not comma-separated: {error}", place=f"line {reader.line_num}") from None


def read_lines(text: str, template: str, names: Names) -> Iterator[Entry]:
    """The entries of lines that were written by a template; empty lines are skipped.

    Raises:
        InputError: if the template does not say enough, or naming the line that does not fit it.
    """
    pattern = _pattern(template, names)
    for number, line in enumerate(text.replace("\r\n", "\n").split("\n"), start=1):
        if not line.strip():
            continue
        place = f"line {number}"
        if len(line) > MAX_LINE:
            raise InputError(
                f"a line of {len(line):,} characters",
                place=place,
                way_out=f"use {MAX_LINE} at most",
            )
        bare = line.rstrip()
        # Editors take away spaces at the end, which stand before an orientation that is empty.
        found = pattern.fullmatch(line) or pattern.fullmatch(bare) or pattern.fullmatch(f"{bare} ")
        if found is None:
            raise InputError(
                f"{fields.shown(bare)} is no line of the template {fields.shown(template)}, or the "
                "part in it has another name",
                place=place,
                way_out="give the --template and --names that the lines were written with",
            )
        yield _entry(found.groupdict(), place)


def assembled(
    entries: Iterable[Entry],
    names: Names,
    placing: Placing,
    *,
    origin: Cell | None = None,
    size: Size | None = None,
) -> Imported:
    """The layout that the entries list, mirrored and turned back.

    Args:
        entries: a part each.
        names: what the builder's world calls things.
        placing: how the layout was turned and mirrored when it was written; its origin is not read.
        origin: where its cell (0, 0, 0) came to lie then; None: where it is if the list lies in a
            box of that size, else at the least coordinates listed.
        size: of the layout; None: as far as its parts reach.

    Raises:
        InputError: naming the entry that names no part, a part twice, or one outside.
    """
    blocks = Blocks(names)
    placed: dict[Cell, tuple[Block, str]] = {}
    for entry in entries:
        if entry.cell in placed:
            raise InputError(
                f"two parts at {list(entry.cell)}, this one and that of {placed[entry.cell][1]}",
                place=entry.place,
                way_out="keep one of them",
            )
        placed[entry.cell] = (blocks.block(entry), entry.place)
        if len(placed) > MAX_CELLS:
            raise InputError(
                f"more than {MAX_CELLS:,} parts", way_out="import a smaller piece of it"
            )
    if not placed:
        raise InputError("no part is listed", way_out="check that it is the right file")
    if size is not None and placing.quarters % 2:
        size = (size[1], size[0], size[2])
    corner = _corner(placed, size) if origin is None else origin
    highs = (max(cell[axis] for cell in placed) for axis in range(3))
    x, y, z = (high - low + 1 for high, low in zip(highs, corner, strict=True))
    box = (x, y, z) if size is None else size
    cells: dict[Cell, Block] = {}
    for (x, y, z), (block, place) in placed.items():
        cell = (x - corner[0], y - corner[1], z - corner[2])
        if not all(0 <= at < side for at, side in zip(cell, box, strict=True)):
            raise InputError(
                f"the part at {[x, y, z]} lies outside the box of {show_size(box)} that begins at "
                f"{list(corner)}",
                place=place,
                way_out="give another --origin or --size, or leave them out",
            )
        cells[cell] = block
    check_size(box)
    layout = turned(Layout(box, cells), -placing.quarters)
    if placing.mirror is not None:
        layout = mirrored(layout, placing.mirror)
    return Imported(layout, corner, blocks.guessed)


def _corner(cells: Iterable[Cell], size: Size | None) -> Cell:
    """Where a box begins that nobody has said the beginning of."""
    cells = list(cells)
    if size is not None and all(
        0 <= at < side for cell in cells for at, side in zip(cell, size, strict=True)
    ):
        return (0, 0, 0)
    x, y, z = (min(cell[axis] for cell in cells) for axis in range(3))
    return (x, y, z)


def _check_columns(columns: list[str]) -> None:
    for name in columns:
        if name not in COLUMNS:
            raise InputError(
                f"unknown column {fields.shown(name)}",
                place="line 1",
                way_out=fields.suggestion(name, COLUMNS, "the columns are"),
            )
    missing = [name for name in _NEEDED if name not in columns]
    if missing or len(set(columns)) < len(columns):
        raise InputError(
            f"no column {missing[0]!r}" if missing else "a column that stands twice",
            place="line 1",
            way_out=f"begin with a line of the columns: {','.join(COLUMNS)}",
        )


def _pattern(template: str, names: Names) -> re.Pattern[str]:
    """What a line looks like that was written by a template.

    Raises:
        InputError: if it leaves out what a part is or where, or could be read in several ways.
    """
    check_template(template)
    if "\n" in template or "\r" in template:
        raise InputError(
            "lines by this template cannot be read: it has an end of a line in it",
            place="--template",
            way_out="put each part into one line",
        )
    known = [block for block, _ in blocks_named(names)]
    words = {
        "part": sorted({names.part(block) for block in known}, key=len, reverse=True),
        "orientation": sorted(
            {names.orientation(block.facing) for block in known}, key=len, reverse=True
        ),
    }
    seen: set[str] = set()
    pieces = []
    beside = False
    for text, name, spec, _ in string.Formatter().parse(template):
        pieces.append(re.escape(text))
        beside = beside and not text
        if name is None:
            continue
        fitting = _NUMBER_FORMAT if name in _NUMBERS else _TEXT_FORMAT
        if beside:
            problem, way_out = f"{{{name}}} stands right behind another", "part them by a space"
        elif name in seen:
            problem, way_out = f"{{{name}}} stands twice", "name it once"
        elif not fitting.fullmatch(spec or ""):
            problem, way_out = f"the format {spec!r} of {name!r}", "use a width such as {x:>3}"
        else:
            seen.add(name)
            beside = True
            inner = (
                r"[+-]?[0-9]+"
                if name in _NUMBERS
                else "|".join(re.escape(word) for word in words[name])
            )
            pad = " *" if spec else ""
            pieces.append(f"{pad}(?P<{name}>{inner}){pad}")
            continue
        raise InputError(
            f"lines by this template cannot be read: {problem}", place="--template", way_out=way_out
        )
    missing = [name for name in _NEEDED if name not in seen]
    if missing:
        raise InputError(
            f"lines by this template cannot be read: no {listed([f'{{{m}}}' for m in missing])}",
            place="--template",
            way_out="a line has to say the part and its cell",
        )
    return re.compile("".join(pieces))


def _entry(values: Mapping[str, str | None], place: str) -> Entry:
    """An entry of what stands in its columns or placeholders."""
    cell = []
    for axis in ("x", "y", "z"):
        value = values[axis] or ""
        if not _WHOLE.fullmatch(value):
            raise InputError(
                f"{fields.shown(value)} is no coordinate",
                place=f"{place}, {axis}",
                way_out="use a whole number",
            )
        cell.append(int(value))
    return Entry(
        place=place,
        cell=(cell[0], cell[1], cell[2]),
        part=values["part"] or "",
        orientation=values.get("orientation"),
        delay=values.get("delay"),
    )
