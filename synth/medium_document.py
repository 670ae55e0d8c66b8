"""The medium in documents: cells, directions and parts as JSON and TOML write them, rule tables.

Floor 1: imports ``synth.errors``, ``synth.fields``, ``synth.files`` and ``synth.medium``.
"""

from __future__ import annotations

import re
import tomllib
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

from synth import fields
from synth.errors import InputError
from synth.files import read_text
from synth.medium import (
    HOST_DIRECTIONS,
    LEVEL_DIRECTIONS,
    Block,
    Cell,
    Direction,
    Joint,
    Part,
    Rules,
)

MAX_BUFFER_DELAY = 64
"""The longest delay of a buffer, in ticks, that a document may state: the longest that a
specification may ask of a whole layout. The time of judging a layout grows with it."""

MAX_REACH = 1_000
"""The largest reach that a rule table may state: a wire of that length crosses any box."""

MAX_TOML_BYTES = 2 * 1024 * 1024
"""The most bytes that are read from a TOML document: its reader takes seconds for that many."""

MAX_DOTS = 32
"""The most dots on a line of TOML: the time for a key grows with the square of its parts."""

_TOML_POSITION = re.compile(r" \(at (line \d+, column \d+|end of document)\)$")


def read_cell(value: object, place: str) -> Cell:
    """A cell ``[x, y, z]`` of whole numbers; whether it lies in a box is for the caller."""
    numbers = fields.items(value, place)
    if len(numbers) != 3:
        raise InputError(
            f"{fields.shown(value)} is no cell",
            place=place,
            way_out="use three whole numbers: [x, y, z]",
        )
    x, y, z = (fields.whole(number, place) for number in numbers)
    return (x, y, z)


def read_direction(value: object, allowed: Sequence[Direction], place: str) -> Direction:
    """One of the ``allowed`` directions, as ``+x``."""
    words = [str(way) for way in allowed]
    if value not in words:  # no guess at the nearest: all are alike
        raise InputError(
            f"no direction {fields.shown(value)}",
            place=place,
            way_out=f"use one of {', '.join(words)}",
        )
    return Direction(value)


def read_joint(value: object, place: str) -> Joint:
    """``wire`` or ``buffer`` (section 6)."""
    return Joint(fields.choice(value, [str(joint) for joint in Joint], place, "joint"))


def read_block(value: object, place: str) -> tuple[Cell, Block]:
    """A part and where it is: ``{at, part}`` with ``on`` (inverter) or ``to, delay`` (buffer).

    A delay is 1 when left out. Whether the rule table knows the delay is for the simulator.

    Raises:
        InputError: for keys a part does not have, keys it lacks, and values of a wrong kind.
    """
    entry = fields.table(value, place)
    keys = ["at", "part"]
    if "part" not in entry:
        fields.check_keys(entry, [*keys, "on", "to", "delay"], place, required=keys)
    kind = fields.choice(entry["part"], [str(p) for p in Part], fields.under(place, "part"), "part")
    part = Part(kind)
    own = {Part.INVERTER: ["on"], Part.BUFFER: ["to", "delay"]}.get(part, [])
    for key in ("on", "to", "delay"):
        if key in entry and key not in own:
            raise InputError(
                f"{_article(kind)} has no {key!r}",
                place=place,
                way_out=f"use {', '.join(repr(name) for name in own)}" if own else "leave it out",
            )
    fields.check_keys(entry, keys + own, place, required=keys + own[:1])
    cell = read_cell(entry["at"], fields.under(place, "at"))
    if part is Part.INVERTER:
        on = read_direction(entry["on"], HOST_DIRECTIONS, fields.under(place, "on"))
        return cell, Block(part, on)
    if part is Part.BUFFER:
        to = read_direction(entry["to"], LEVEL_DIRECTIONS, fields.under(place, "to"))
        place = fields.under(place, "delay")
        delay = fields.whole(entry.get("delay", 1), place, low=1, high=MAX_BUFFER_DELAY)
        return cell, Block(part, to, delay)
    return cell, Block(part)


def block_entry(cell: Cell, block: Block) -> dict[str, Any]:
    """The entry that ``read_block`` reads back."""
    entry: dict[str, Any] = {"at": list(cell), "part": str(block.part)}
    if block.part is Part.INVERTER:
        entry["on"] = str(block.facing)
    elif block.part is Part.BUFFER:
        entry["to"] = str(block.facing)
        entry["delay"] = block.delay
    return entry


def read_toml(path: str | Path) -> dict[str, Any]:
    """The tables of a TOML file.

    Raises:
        InputError: if it cannot be read or is not TOML; the place is its line and column.
    """
    text = read_text(path, MAX_TOML_BYTES)
    for number, line in enumerate(text.split("\n"), start=1):
        if line.count(".") > MAX_DOTS:
            raise InputError(
                f"more than {MAX_DOTS} dots on one line",
                file=str(path),
                place=f"line {number}",
                way_out="begin a new line",
            )
    try:
        return tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        message = str(error)
        found = _TOML_POSITION.search(message)
        place = found[1] if found else None
        if place == "end of document":
            lines = text.split("\n")
            place = f"line {len(lines)}, column {len(lines[-1]) + 1}"
        problem = _TOML_POSITION.sub("", message)
        raise InputError(
            f"not TOML: {problem[:1].lower()}{problem[1:]}",
            file=str(path),
            place=place,
            way_out=_way_out(text, problem),
        ) from None
    except RecursionError:
        raise InputError("not usable: nested too deeply", file=str(path)) from None
    except ValueError as error:  # dates that do not exist, integers of thousands of digits
        raise InputError(f"not TOML: {error}", file=str(path)) from None


def _way_out(text: str, problem: str) -> str:
    """What to do about a text that is no TOML."""
    if text.lstrip().startswith("{"):
        return "this looks like JSON; layouts are given to other commands and options"
    if "overwrite" in problem:
        return "a key stands once in its table: keep one of them"
    return "write a key, an equals sign and a value: delay = 2"


def read_rules(document: Mapping[str, Any]) -> Rules:
    """A rule table from its document: ``reach`` and ``buffer_delays``, each optional.

    ``reach = 15`` is the strength of a wire beside a source, ``buffer_delays = [1, 2, 3, 4]``
    the delays, in ticks, that a buffer may have; at most ``MAX_REACH`` and ``MAX_BUFFER_DELAY``.
    """
    fields.check_keys(document, ["reach", "buffer_delays"], None)
    values: dict[str, Any] = {}
    if "reach" in document:
        values["reach"] = fields.whole(document["reach"], "reach", low=1, high=MAX_REACH)
    if "buffer_delays" in document:
        delays = fields.items(document["buffer_delays"], "buffer_delays")
        if not delays:
            raise InputError(
                "an empty list of delays", place="buffer_delays", way_out="use one tick or more"
            )
        values["buffer_delays"] = tuple(
            fields.whole(delay, f"buffer_delays[{index}]", low=1, high=MAX_BUFFER_DELAY)
            for index, delay in enumerate(delays)
        )
    return Rules(**values)


def rules_entry(rules: Rules) -> dict[str, Any]:
    """The document of a rule table, whole; ``read_rules`` reads it back."""
    return {"reach": rules.reach, "buffer_delays": list(rules.buffer_delays)}


def load_rules(path: str | Path) -> Rules:
    """Read a rule table (TOML); see ``read_rules``.

    Raises:
        InputError: naming the file, the place in it and what to write instead.
    """
    document = read_toml(path)
    try:
        return read_rules(document)
    except InputError as error:
        raise error.in_file(str(path)) from None


def _article(kind: str) -> str:
    return f"an {kind}" if kind[0] in "aeiou" else f"a {kind}"
