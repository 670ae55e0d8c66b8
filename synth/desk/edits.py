"""The edits: each is one function, from a design and a message of the page to a new design.

A message is a table with the key ``kind`` and those of its function. It is carried out as a whole,
or refused as a whole with a sentence that says why: a locked cell, a place outside the box, a pin
that faces inwards. Whether the result is right is not asked here: the simulator says that
afterwards.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import replace
from typing import Any, NamedTuple

from synth import fields
from synth.desk.box import Box, read_box
from synth.desk.design import Design, read_cells, require_inside
from synth.desk.slices import resized, with_slice, without_slice
from synth.errors import InputError
from synth.layout import Layout, MadeFor, Pin, Stack
from synth.medium import (
    AXES,
    HOST_DIRECTIONS,
    LEVEL_DIRECTIONS,
    Block,
    Cell,
    Direction,
    Part,
    Role,
)
from synth.medium_document import (
    MAX_BUFFER_DELAY,
    read_block,
    read_cell,
    read_direction,
    read_joint,
)
from synth.spec.expression import parse_function
from synth.words import counted

MAX_CELLS = 50_000
"""Most cells that one edit may name."""


class Edited(NamedTuple):
    """A new design, and what was done in a few words."""

    design: Design
    label: str


Message = Mapping[str, Any]


def edited(design: Design, message: object) -> Edited:
    """The design after an edit.

    Raises:
        InputError: if the message is no edit, or what it asks cannot be done.
    """
    table = fields.table(message, "edit")
    kind = fields.choice(table.get("kind"), tuple(KINDS), "edit.kind", "edit")
    keys, act = KINDS[kind]
    fields.check_keys(table, ("kind", *keys), "edit")
    return act(design, table)


# Parts


def put(design: Design, message: Message) -> Edited:
    """``parts``: entries as documents have them; ``empty``: cells to be emptied."""
    changes: dict[Cell, Block | None] = {}
    for cell in _cells(message.get("empty", []), "empty"):
        changes[cell] = None
    for number, entry in enumerate(_few(message.get("parts", []), "parts")):
        cell, block = read_block(entry, fields.under("parts", number))
        changes[cell] = block
    named = {str(block.part) for block in changes.values() if block is not None}
    label = "empty" if not named else f"place {named.pop() if len(named) == 1 else 'parts'}"
    return Edited(_changed(design, changes), label)


def place(design: Design, message: Message) -> Edited:
    """``part`` in ``cells``, as a hand puts it.

    Without ``facing`` it is turned as suits best: an inverter to a solid beside or below it, a
    buffer along +x. A part that is there already goes on to its next way or, a buffer whose
    ``ticks`` are given, takes those.
    """
    part = Part(fields.choice(message.get("part"), [str(p) for p in Part], "part", "part"))
    facing = message.get("facing")
    ticks = fields.whole(message.get("ticks", 1), "ticks", low=1, high=MAX_BUFFER_DELAY)
    allowed = HOST_DIRECTIONS if part is Part.INVERTER else LEVEL_DIRECTIONS
    way = None if facing is None else read_direction(facing, allowed, "facing")
    changes: dict[Cell, Block | None] = {}
    for cell in _cells(message.get("cells", []), "cells"):
        changes[cell] = _as_suits(design.layout, cell, part, way, ticks)
    return Edited(_changed(design, changes), f"place {part}")


def _as_suits(layout: Layout, cell: Cell, part: Part, way: Direction | None, ticks: int) -> Block:
    if part not in (Part.INVERTER, Part.BUFFER):
        return Block(part)
    there = layout.cells.get(cell)
    again = there is not None and there.part is part
    if way is None and again and there is not None:
        same = there.delay == ticks if part is Part.BUFFER else True
        way = _next_facing(there, 1) if same else there.facing
    if way is None and part is Part.INVERTER:
        hosts = (to for to in (Direction.NZ, *LEVEL_DIRECTIONS) if _is_solid(layout, to.step(cell)))
        way = next(hosts, Direction.NZ)
    if part is Part.INVERTER:
        return Block(part, way)
    return Block(part, way or Direction.PX, ticks)


def _is_solid(layout: Layout, cell: Cell) -> bool:
    block = layout.cells.get(cell)
    return block is not None and block.part is Part.SOLID


def turn(design: Design, message: Message) -> Edited:
    """``cells``: parts turned where they are, by ``quarters``; or ``box``: all in it together."""
    quarters = fields.whole(message.get("quarters", 1), "quarters", low=-3, high=3)
    if "box" in message:
        box = read_box(message["box"], "box", design.layout)
        return Edited(_taken_along(design, box, box.turn(quarters)), "turn a block")
    changes: dict[Cell, Block | None] = {}
    for cell in _cells(message.get("cells", []), "cells"):
        block = design.layout.cells.get(cell)
        if block is not None and block.facing is not None:
            changes[cell] = replace(block, facing=_next_facing(block, quarters))
    return Edited(_changed(design, changes), "turn")


def move(design: Design, message: Message) -> Edited:
    """``box`` with all that is in it goes by ``by``; with ``copy`` it stays where it was, too."""
    box = read_box(message.get("box"), "box", design.layout)
    by = read_cell(message.get("by"), "by")
    copy = fields.flag(message.get("copy", False), "copy")
    done = _taken_along(design, box, box.shift(by), copy=copy)
    return Edited(done, "copy a block" if copy else "move")


def mirror(design: Design, message: Message) -> Edited:
    """``box`` mirrored along ``axis`` (x or y: upside down the medium is another)."""
    box = read_box(message.get("box"), "box", design.layout)
    axis = fields.choice(message.get("axis"), ("x", "y"), "axis", "axis to mirror along")
    return Edited(_taken_along(design, box, box.mirror(axis)), f"mirror along {axis}")


def _taken_along(design: Design, box: Box, way: Any, *, copy: bool = False) -> Design:
    """The parts of a box put where ``way`` leads; empty cells of it empty nothing there."""
    there = {cell: block for cell, block in design.layout.cells.items() if box.holds(cell)}
    moved = dict(way(cell, block) for cell, block in there.items())
    changes: dict[Cell, Block | None] = {} if copy else dict.fromkeys(there)
    return _changed(design, {**changes, **moved})


def _changed(design: Design, changes: Mapping[Cell, Block | None]) -> Design:
    """The design with those cells changed.

    Raises:
        InputError: if one is locked or lies outside the box.
    """
    layout = design.layout
    require_inside(layout, changes)
    told = {cell: block for cell, block in changes.items() if layout.cells.get(cell) != block}
    _require_unlocked(design, told)
    return design.with_layout(layout.with_cells(told))


def _require_unlocked(design: Design, cells: Iterable[Cell]) -> None:
    locked = sorted(design.locked.intersection(cells))
    if locked:
        more = f" and {counted(len(locked) - 1, 'more')}" if len(locked) > 1 else ""
        raise InputError(
            f"the cell {list(locked[0])}{more} is locked", way_out="unlock it first (key k)"
        )


def _next_facing(block: Block, quarters: int) -> Direction:
    """The next way that a part can face; an inverter can stand, too."""
    ways: tuple[Direction, ...] = (Direction.PX, Direction.PY, Direction.NX, Direction.NY)
    if block.part is Part.INVERTER:
        ways = (*ways, Direction.NZ)
    assert block.facing is not None
    return ways[(ways.index(block.facing) + quarters) % len(ways)]


# The box


def slice_(design: Design, message: Message) -> Edited:
    """``axis`` and ``at``: an empty slice is put in before that one, or with ``out`` taken out."""
    axis = fields.choice(message.get("axis"), AXES, "axis", "axis")
    side = design.layout.size[AXES.index(axis)]
    out = fields.flag(message.get("out", False), "out")
    at = fields.whole(message.get("at"), "at", low=0, high=side - 1 if out else side)
    if out:
        _require_unlocked(design, (c for c in design.locked if c[AXES.index(axis)] == at))
        return Edited(without_slice(design, axis, at), f"take out {axis} = {at}")
    return Edited(with_slice(design, axis, at), f"insert at {axis} = {at}")


def size(design: Design, message: Message) -> Edited:
    """``size``: of the box, its far ends moved; what would be cut off is named instead."""
    length, width, height = (
        fields.whole(side, fields.under("size", number), low=1, high=256)
        for number, side in enumerate(read_cell(message.get("size"), "size"))
    )
    return Edited(resized(design, (length, width, height)), "size of the box")


# Pins, and what is asked


def pin(design: Design, message: Message) -> Edited:
    """``name``, ``role``, ``at``, ``face``, ``joint``: a pin set; ``old``: the one it replaces."""
    at = read_cell(message.get("at"), "at")
    new = Pin(
        fields.name(message.get("name"), "name"),
        Role(fields.choice(message.get("role"), [str(role) for role in Role], "role", "role")),
        at,
        read_direction(message.get("face"), LEVEL_DIRECTIONS, "face"),
        read_joint(message.get("joint", "wire"), "joint"),
    )
    layout = design.layout
    if layout.inside(new.outside):
        # A layout may have a pin in front of an empty cell, but here that would soon be filled.
        raise InputError(
            f"the face {new.face} of {list(at)} leads to a cell inside the box",
            place="face",
            way_out="choose a cell and face at the edge of the box",
        )
    old = message.get("old")
    if old is None:
        kept = design.with_layout(layout.replace(pins=(*layout.pins, new)))
        return Edited(kept, f"set pin {new.name}")
    place = _pin_number(layout, old)
    pins = (*layout.pins[:place], new, *layout.pins[place + 1 :])
    purpose = layout.made_for
    if purpose is not None and old != new.name:
        purpose = purpose.renamed({str(old): new.name})
    done = design.with_layout(layout.replace(pins=pins, made_for=purpose))
    return Edited(done, f"change pin {new.name}")


def unpin(design: Design, message: Message) -> Edited:
    """``name``: the pin to be removed."""
    layout = design.layout
    place = _pin_number(layout, message.get("name"))
    pins = (*layout.pins[:place], *layout.pins[place + 1 :])
    return Edited(
        design.with_layout(layout.replace(pins=pins)), f"remove pin {layout.pins[place].name}"
    )


def _pin_number(layout: Layout, name: object) -> int:
    names = [pin.name for pin in layout.pins]
    return names.index(fields.choice(name, names, "name", "pin"))


def stack(design: Design, message: Message) -> Edited:
    """``axis`` (or null) and ``pitch``: how it is meant to stack."""
    layout = design.layout
    if message.get("axis") is None:
        return Edited(design.with_layout(layout.replace(stack=None)), "no stacking")
    axis = fields.choice(message["axis"], AXES, "axis", "axis")
    pitch = message.get("pitch")
    if pitch is None:
        pitch = layout.size[AXES.index(axis)]
    # A chain belongs to its axis. Along another axis it would be another chain, so it is dropped.
    chain = layout.chain if layout.stack is not None and layout.stack.axis == axis else ()
    stacked = Stack(axis, fields.whole(pitch, "pitch", low=1, high=1000), chain)
    return Edited(design.with_layout(layout.replace(stack=stacked)), f"stack along {axis}")


def ground(design: Design, message: Message) -> Edited:
    """``on``: whether the cells under height 0 carry wires and buffers."""
    on = fields.flag(message.get("on"), "on")
    return Edited(
        design.with_layout(design.layout.replace(ground=on)), "ground" if on else "no ground"
    )


def name(design: Design, message: Message) -> Edited:
    """``name``: of the layout; empty for none."""
    words = fields.line(message.get("name"), "name").strip()
    return Edited(design.with_layout(design.layout.replace(name=words or None)), "name")


def function(design: Design, message: Message) -> Edited:
    """``text``: the equations expected, empty for none; ``delay``: ticks, or null."""
    text = fields.line(message.get("text"), "text").strip()
    if not text:
        return Edited(
            design.with_layout(design.layout.replace(made_for=None)), "expect no function"
        )
    delay = message.get("delay")
    if delay is not None:
        delay = fields.whole(delay, "delay", low=0, high=64)
    parse_function(text, [pin.name for pin in design.layout.inputs])
    kept = MadeFor(text, delay)
    return Edited(design.with_layout(design.layout.replace(made_for=kept)), "expect a function")


# Locks, and other designs taken up


def lock(design: Design, message: Message) -> Edited:
    """``cells``: to be locked, or with ``on`` false unlocked."""
    cells = read_cells(_few(message.get("cells", []), "cells"), "cells", design.layout)
    on = fields.flag(message.get("on", True), "on")
    locked = design.locked | cells if on else design.locked - cells
    return Edited(replace(design, locked=locked), "lock" if on else "unlock")


def change(design: Design, message: Message) -> Edited:
    """``cells``, ``pins`` and ``stack`` as the change of a remedy has them, in one step."""
    changes: dict[Cell, Block | None] = {}
    for number, listed in enumerate(_few(message.get("cells", []), "cells")):
        place = fields.under("cells", number)
        entry = fields.table(listed, place)
        if entry.get("part") is None:
            changes[read_cell(entry.get("at"), place)] = None
        else:
            cell, block = read_block(entry, place)
            changes[cell] = block
    done = _changed(design, changes)
    for entry in _few(message.get("pins", []), "pins"):
        table = fields.table(entry, "pins")
        done = pin(done, {**table, "old": table.get("name")}).design
    stacked = message.get("stack")
    if stacked is not None:
        done = stack(done, fields.table(stacked, "stack")).design
    return Edited(done, "carry out a remedy")


def take(design: Design, message: Message) -> Edited:
    """``layout``: the document of a layout to go on with; name and what is expected stay."""
    layout = Layout.from_document(fields.table(message.get("layout"), "layout"))
    own = design.layout
    made_for = own.made_for if layout.made_for is None else layout.made_for
    taken = design.with_layout(layout.replace(name=own.name or layout.name, made_for=made_for))
    return Edited(taken, "take a version")


def _few(value: object, place: str) -> Any:
    entries = fields.items(value, place)
    if len(entries) > MAX_CELLS:
        raise InputError(f"{len(entries):,} cells at once", place=place)
    return entries


def _cells(value: object, place: str) -> Iterable[Cell]:
    entries = _few(value, place)
    return [read_cell(entry, fields.under(place, number)) for number, entry in enumerate(entries)]


KINDS: dict[str, tuple[tuple[str, ...], Callable[[Design, Message], Edited]]] = {
    "put": (("parts", "empty"), put),
    "place": (("cells", "part", "facing", "ticks"), place),
    "turn": (("cells", "box", "quarters"), turn),
    "move": (("box", "by", "copy"), move),
    "mirror": (("box", "axis"), mirror),
    "slice": (("axis", "at", "out"), slice_),
    "size": (("size",), size),
    "pin": (("old", "name", "role", "at", "face", "joint"), pin),
    "unpin": (("name",), unpin),
    "stack": (("axis", "pitch"), stack),
    "ground": (("on",), ground),
    "name": (("name",), name),
    "function": (("text", "delay"), function),
    "lock": (("cells", "on"), lock),
    "change": (("cells", "pins", "stack"), change),
    "take": (("layout",), take),
}
"""Every edit: the keys of its message, and what it does."""
