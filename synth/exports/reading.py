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
from synth.layout import Layout
from synth.layout.documents import MAX_CELLS, check_size
from synth.layout.pins import show_size
from synth.layout.transform import mirrored, turned
from synth.medium import (
    HOST_DIRECTIONS,
    LEVEL_DIRECTIONS,
    Block,
    Cell,
    Direction,
    Part,
    Size,
)
from synth.medium_document import MAX_BUFFER_DELAY
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
class Entry:
    """A line of a list: which it is, its cell, and what it says of the part.

    Attributes:
        place: where it stands, for messages.
        cell: in the builder's world.
        part, orientation: as the builder calls them; None where the list does not say.
        delay: as text; None or empty where the list does not say.
    """

    place: str
    cell: Cell
    part: str
    orientation: str | None
    delay: str | None


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
    blocks = _Blocks(names)
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


class _Blocks:
    """Which part an entry means.

    Args:
        names: what the builder's world calls things.
    """

    def __init__(self, names: Names) -> None:
        self.guessed = 0
        self._names = names
        self._known: dict[tuple[str, str], list[tuple[Block, bool]]] = {}
        for block, exact in _blocks(names):
            key = (names.part(block), names.orientation(block.facing))
            self._known.setdefault(key, []).append((block, exact))
        self._by_name: dict[str, list[tuple[Block, bool]]] = {}
        for (part, _), found in self._known.items():
            self._by_name.setdefault(part, []).extend(found)

    def block(self, entry: Entry) -> Block:
        """The block of an entry.

        Raises:
            InputError: if it names none, or may be several.
        """
        if entry.part not in self._by_name:
            raise InputError(
                f"no part {fields.shown(entry.part)}",
                place=entry.place,
                way_out=fields.suggestion(entry.part, sorted(self._by_name), "the parts are"),
            )
        meant = self._by_name[entry.part]
        if entry.orientation is not None:
            meant = self._known.get((entry.part, entry.orientation), [])
            if not meant:
                ways = sorted({way for part, way in self._known if part == entry.part})
                raise InputError(
                    f"no {fields.shown(entry.part)} has the orientation "
                    f"{fields.shown(entry.orientation)}",
                    place=entry.place,
                    way_out=f"use {listed([repr(way) for way in ways], 'or')}",
                )
        blocks = self._with_delay(entry, meant)
        if len(blocks) != 1:
            raise InputError(
                f"{fields.shown(entry.part)} may be {listed(sorted(map(str, blocks)), 'or')}",
                place=entry.place,
                way_out="put {orientation} and {delay} into the lines, or give each of them a name "
                "of its own in a file of --names",
            )
        return blocks.pop()

    def _with_delay(self, entry: Entry, meant: list[tuple[Block, bool]]) -> set[Block]:
        """The blocks meant, with the delay that the entry says; the least where it says none."""
        if entry.delay in (None, "", "0"):
            found = {block for block, _ in meant}
            kinds = {(block.part, block.facing) for block in found}
            open_ones = [block for block, exact in meant if block.delay and not exact]
            if len(kinds) == 1 and open_ones:
                self.guessed += 1
                return {open_ones[0]}
            return found
        assert entry.delay is not None
        if not entry.delay.isdecimal() or not 1 <= int(entry.delay[:4]) <= MAX_BUFFER_DELAY:
            raise InputError(
                f"{fields.shown(entry.delay)} is no delay of a buffer",
                place=entry.place,
                way_out=f"use 1 to {MAX_BUFFER_DELAY} ticks of a buffer, none for other parts",
            )
        delay = int(entry.delay)
        buffers = {
            Block(block.part, block.facing, delay)
            for block, exact in meant
            if block.delay and (not exact or block.delay == delay)
        }
        if not buffers:
            raise InputError(
                f"{fields.shown(entry.part)} with a delay of {delay}",
                place=entry.place,
                way_out="only buffers have a delay, and those that a file of --names names by "
                "their delay have that",
            )
        return buffers


def _blocks(names: Names) -> Iterator[tuple[Block, bool]]:
    """Every block by which a name may be meant, and whether its delay is part of the name."""
    for part in Part:
        if part not in (Part.INVERTER, Part.BUFFER):
            yield Block(part), False
    for way in HOST_DIRECTIONS:
        yield Block(Part.INVERTER, way), False
    for way in LEVEL_DIRECTIONS:
        named = _named_delays(names, way)
        yield from ((Block(Part.BUFFER, way, delay), True) for delay in sorted(named))
        rest = (delay for delay in range(1, MAX_BUFFER_DELAY + 1) if delay not in named)
        # One that stands for all whose delay is not part of the name.
        yield from ((Block(Part.BUFFER, way, delay), False) for delay in (next(rest),))


def _named_delays(names: Names, way: Direction) -> set[int]:
    """The delays that have names of their own."""
    keys = (key.removeprefix(f"buffer {way} ") for key in names.parts)
    return {int(key) for key in keys if key.isdecimal() and 1 <= int(key[:4]) <= MAX_BUFFER_DELAY}


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
    known = [block for block, _ in _blocks(names)]
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
