"""Layout documents: the JSON a layout is stored as, versions 1 to 4.

```json
{
  "format": "gatefit-layout", "version": 1,
  "name": "q",
  "size": [1, 1, 2],
  "parts": [
    {"at": [0, 0, 0], "part": "solid"},
    {"at": [0, 0, 1], "part": "inverter", "on": "-z"}
  ],
  "pins": [
    {"name": "a", "role": "input", "at": [0, 0, 0], "face": "-x", "joint": "wire"}
  ],
  "stack": {"axis": "y", "pitch": 1},
  "ground": false
}
```

``name`` may be left out; so may ``stack`` (null), its ``pitch`` (the box's size on the axis),
``ground`` (false), ``joint`` (wire) and a buffer's ``delay`` (1).

Version 2 has two keys more, which may be left out: what the layout was made for, by which it is
judged where nothing else is asked. ``function`` holds equations in the operators of IEEE Std 1364,
``"q = a ^ b; c = a & b"``, over the names of the pins; where these cannot say it (don't cares,
long functions) the table of a specification:
``{"inputs": ["a", "b"], "outputs": ["q"], "table": ["00 0", "01 1", "10 1", "11 -"]}``.
``delay`` are the ticks that it has to meet.

Version 3 has one key more, which may be left out: ``chain``, the outputs of each copy of the stack
that are inputs of the next (section 11): ``[{"from": "co", "to": "ci"}]``.

Version 4 has one key more, which may be left out: ``pieces``, the parts that belong together, for
the reader only: ``[{"name": "n1", "kind": "gate", "reads": ["a", "b"], "cells": [[2, 0, 1]]}]``.
A ``gate`` makes the signal it is named after from those that it reads, a ``wire`` carries it.

A document is written in the first version that has its keys, so that earlier readers understand it.
"""

from __future__ import annotations

import json
import re
from collections.abc import Mapping
from dataclasses import replace
from typing import Any, NamedTuple, NoReturn, Protocol

from synth import fields
from synth.errors import InputError
from synth.layout.made_for import MadeFor, read_made_for
from synth.layout.pieces import Piece, piece_entry, read_pieces
from synth.layout.pins import Pin, Stack, show_size
from synth.medium import AXES, LEVEL_DIRECTIONS, Block, Cell, ChainLink, Role, Size
from synth.medium_document import block_entry, read_block, read_cell, read_direction, read_joint

FORMAT = "gatefit-layout"
VERSION = 4
"""The latest version, written of a layout with pieces; 3 of a chain; 2 where a layout says what it
was made for; else 1."""

_VERSIONS = (1, 2, 3, 4)

MAX_SIDE = 256
"""Longest side of a box, in cells, that a document may state."""

MAX_CELLS = 200_000
"""Largest volume of a box, in cells, that a document may state."""

_KEYS = ("format", "version", "name", "size", "parts", "pins", "stack", "ground")
_MADE_FOR_KEYS = ("function", "delay")
_LATER_KEYS = (
    (),
    (),
    _MADE_FOR_KEYS,
    (*_MADE_FOR_KEYS, "chain"),
    (*_MADE_FOR_KEYS, "chain", "pieces"),
)
"""The keys that each version has besides."""

_PIN_KEYS = ("name", "role", "at", "face", "joint")


class Described(Protocol):
    """What a document tells of a layout; a ``Layout`` is one."""

    @property
    def size(self) -> Size: ...
    @property
    def cells(self) -> Mapping[Cell, Block]: ...
    @property
    def pins(self) -> tuple[Pin, ...]: ...
    @property
    def stack(self) -> Stack | None: ...
    @property
    def ground(self) -> bool: ...
    @property
    def name(self) -> str | None: ...
    @property
    def made_for(self) -> MadeFor | None: ...
    @property
    def pieces(self) -> tuple[Piece, ...]: ...


class Contents(NamedTuple):
    """What a document tells of a layout, read but not yet made a ``Layout`` of."""

    size: Size
    cells: Mapping[Cell, Block]
    pins: tuple[Pin, ...]
    stack: Stack | None
    ground: bool
    name: str | None
    made_for: MadeFor | None
    pieces: tuple[Piece, ...] = ()


def read_contents(document: Mapping[str, Any]) -> Contents:
    """What a layout document holds.

    Raises:
        InputError: naming the place and what to write instead, if the document is not of this
            format and version, has unknown or missing keys or values of a wrong kind, or
            describes no layout.
    """
    document = fields.table(document, None)
    _check_version(document)
    later = _LATER_KEYS[document["version"]]
    fields.check_keys(document, (*_KEYS, *later), None, required=("size", "parts", "pins"))
    size = _read_size(document["size"])
    name = document.get("name")
    return Contents(
        size=size,
        cells=_read_parts(document["parts"], size),
        pins=tuple(
            _read_pin(entry, fields.under("pins", index))
            for index, entry in enumerate(fields.items(document["pins"], "pins"))
        ),
        stack=_chained(_read_stack(document.get("stack"), size), document.get("chain", [])),
        ground=fields.flag(document.get("ground", False), "ground"),
        name=None if name is None else fields.line(name, "name"),
        made_for=read_made_for(document),
        pieces=read_pieces(document.get("pieces", [])),
    )


def layout_document(layout: Described) -> dict[str, Any]:
    """The document of a layout, keys in the order of this page, parts sorted by x, y, z.

    Raises:
        InputError: if the layout is larger than a document may state or its name is no line
            of printable text: no document is written that could not be read.
    """
    check_size(layout.size)
    stack = layout.stack
    chain = () if stack is None else stack.chain
    version = 4 if layout.pieces else 3 if chain else 1 if layout.made_for is None else 2
    document: dict[str, Any] = {"format": FORMAT, "version": version}
    if layout.name is not None:
        document["name"] = fields.line(layout.name, "name")
    if layout.made_for is not None:
        document |= layout.made_for.entries()
    document["size"] = list(layout.size)
    document["parts"] = [block_entry(cell, block) for cell, block in layout.cells.items()]
    document["pins"] = [pin_entry(pin) for pin in layout.pins]
    document["stack"] = None if stack is None else {"axis": stack.axis, "pitch": stack.pitch}
    if chain:
        document["chain"] = [{"from": link.output, "to": link.input} for link in chain]
    document["ground"] = layout.ground
    if layout.pieces:
        document["pieces"] = [piece_entry(piece) for piece in layout.pieces]
    return document


def layout_text(layout: Described) -> str:
    """The document as JSON text, one part and one pin a line, the same in every run."""
    lines = [
        f"  {json.dumps(key)}: {_json_value(value)}"
        for key, value in layout_document(layout).items()
    ]
    return "{\n" + ",\n".join(lines) + "\n}\n"


def check_size(size: Size) -> None:
    """Refuse a box with a side above ``MAX_SIDE`` or more than ``MAX_CELLS`` cells."""
    for axis, side in zip(AXES, size, strict=True):
        if not 1 <= side <= MAX_SIDE:
            raise InputError(
                f"a size of {fields.shown(side)} cells along {axis}",
                place="size",
                way_out=f"use 1 to {MAX_SIDE}",
            )
    volume = size[0] * size[1] * size[2]
    if volume > MAX_CELLS:
        raise InputError(
            f"a box of {show_size(size)} has {volume} cells",
            place="size",
            way_out=f"use at most {MAX_CELLS} cells",
        )


def _check_version(document: Mapping[str, Any]) -> None:
    """Before all else: a later version may have keys that are unknown here."""
    for key, want in (("format", FORMAT), ("version", _VERSIONS[0])):
        if key not in document:
            raise InputError(f"the key {key!r} is missing", way_out=f"add {key} {want!r}")
    if document["format"] != FORMAT:
        raise InputError(
            f"the format {fields.shown(document['format'])} is no layout",
            place="format",
            way_out=f"give a document of format {FORMAT!r}",
        )
    if document["version"] is True or document["version"] not in _VERSIONS:
        raise InputError(
            f"version {fields.shown(document['version'])} of {FORMAT} is not understood",
            place="version",
            way_out=f"the versions understood are: {', '.join(map(str, _VERSIONS))}",
        )


def _read_size(value: object) -> Size:
    sides = fields.items(value, "size")
    if len(sides) != 3:
        raise InputError(
            f"{fields.shown(value)} is no size",
            place="size",
            way_out="use three whole numbers: [length, width, height]",
        )
    length, width, height = (fields.whole(side, "size") for side in sides)
    check_size((length, width, height))
    return (length, width, height)


def _read_parts(value: object, size: Size) -> dict[Cell, Block]:
    cells: dict[Cell, Block] = {}
    for index, entry in enumerate(fields.items(value, "parts")):
        place = fields.under("parts", index)
        cell, block = read_block(entry, place)
        at = fields.under(place, "at")
        if cell in cells:
            raise InputError(
                f"two parts at {list(cell)}: {cells[cell]} and {block}",
                place=at,
                way_out="keep one of them",
            )
        if not all(0 <= c < side for c, side in zip(cell, size, strict=True)):
            raise InputError(
                f"the part at {fields.shown(list(cell))} lies outside the box of {show_size(size)}",
                place=at,
                way_out="move it inside or give the box a larger size",
            )
        cells[cell] = block
    return cells


def _read_pin(value: object, place: str) -> Pin:
    entry = fields.table(value, place)
    fields.check_keys(entry, _PIN_KEYS, place, required=_PIN_KEYS[:-1])
    role_place = fields.under(place, "role")
    return Pin(
        name=fields.text(entry["name"], fields.under(place, "name")),
        role=Role(fields.choice(entry["role"], [str(role) for role in Role], role_place, "role")),
        at=read_cell(entry["at"], fields.under(place, "at")),
        face=read_direction(entry["face"], LEVEL_DIRECTIONS, fields.under(place, "face")),
        joint=read_joint(entry.get("joint", "wire"), fields.under(place, "joint")),
    )


def pin_entry(pin: Pin) -> dict[str, Any]:
    """A pin as layout documents write it."""
    return {
        "name": pin.name,
        "role": str(pin.role),
        "at": list(pin.at),
        "face": str(pin.face),
        "joint": str(pin.joint),
    }


def _read_stack(value: object, size: Size) -> Stack | None:
    if value is None:
        return None
    entry = fields.table(value, "stack")
    fields.check_keys(entry, ("axis", "pitch"), "stack", required=("axis",))
    axis = fields.choice(entry["axis"], AXES, "stack.axis", "axis")
    pitch = entry.get("pitch", size[AXES.index(axis)])
    return Stack(axis, fields.whole(pitch, "stack.pitch", low=1))


def _chained(stack: Stack | None, value: object) -> Stack | None:
    """The stack with the links that a document lists."""
    links = []
    for index, listed in enumerate(fields.items(value, "chain")):
        place = fields.under("chain", index)
        entry = fields.table(listed, place)
        fields.check_keys(entry, ("from", "to"), place, required=("from", "to"))
        ends = (fields.text(entry[key], fields.under(place, key)) for key in ("from", "to"))
        links.append(ChainLink(*ends))
    if not links:
        return stack
    if stack is None:
        raise InputError(
            "there is a chain, but no stacking", place="chain", way_out='add "stack" with its axis'
        )
    return replace(stack, chain=tuple(links))


_SURROGATE = re.compile(r"\\u[dD][89a-fA-F]")
"""An escape that is a character only beside another one."""


def parse_json(text: str) -> Any:
    """The value that a JSON text holds.

    Raises:
        InputError: if it is no JSON (with line and column), a key stands twice in one object,
            it is beyond what Python reads, or holds what is no text.
    """
    try:
        value = json.loads(text, object_pairs_hook=_unique_keys, parse_constant=_refuse_constant)
        if _SURROGATE.search(text):
            json.dumps(value, ensure_ascii=False).encode()
        return value
    except UnicodeEncodeError:
        raise InputError(
            "not usable: a \\u escape of half a character",
            way_out="write both halves (RFC 8259, section 7), or the character itself",
        ) from None
    except json.JSONDecodeError as error:
        if not text.strip():
            raise InputError("is empty", way_out="name the file that holds it") from None
        raise InputError(
            f"not JSON: {error.msg[:1].lower()}{error.msg[1:]}",
            place=f"line {error.lineno}, column {error.colno}",
        ) from None
    except RecursionError:
        raise InputError("not usable: nested too deeply") from None
    except ValueError as error:
        if isinstance(error, InputError):
            raise
        # Python refuses to read integers of thousands of digits.
        raise InputError("not usable: a number of thousands of digits") from None


def _unique_keys(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    entry = dict(pairs)
    if len(entry) < len(pairs):
        seen: set[str] = set()
        for key, _ in pairs:
            if key in seen:
                raise InputError(
                    f"the key {fields.shown(key)} stands twice in one object",
                    way_out="keep one of them",
                )
            seen.add(key)
    return entry


def _refuse_constant(word: str) -> NoReturn:
    raise InputError(f"{word} is no JSON number", way_out="use a whole number")


def _json_value(value: Any) -> str:
    """JSON with one line for each object of a list, so that a layout can be read and compared."""
    if isinstance(value, list) and value and isinstance(value[0], dict):
        return "[\n" + ",\n".join(f"    {json.dumps(entry)}" for entry in value) + "\n  ]"
    return json.dumps(value)
