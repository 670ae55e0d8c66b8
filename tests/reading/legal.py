"""What is legal: sections 2, 6 and 8 of ``medium.md`` read literally.

Quotations here and in the modules beside this one are sentences of ``medium.md``.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any

from synth.layout import Layout, Pin, Stack
from synth.medium import (
    DEFAULT_RULES,
    LEDGE,
    Block,
    Cell,
    Direction,
    Joint,
    Part,
    Role,
    RuleId,
    Rules,
)

UP, DOWN = Direction.PZ, Direction.NZ
Reason = tuple[RuleId, Cell]
"""A rule that is broken and the cell where."""


def read(document: Mapping[str, Any]) -> Layout:
    """A layout document as a layout: nothing but the keys of ``documents.md``, unchecked."""
    cells = {}
    for entry in document["parts"]:
        part = Part(entry["part"])
        facing = {Part.INVERTER: "on", Part.BUFFER: "to"}.get(part)
        delay = entry.get("delay", 1) if part is Part.BUFFER else 0
        turned = None if facing is None else Direction(entry[facing])
        cells[_cell(entry["at"])] = Block(part, turned, delay)
    pins = tuple(
        Pin(
            pin["name"],
            Role(pin["role"]),
            _cell(pin["at"]),
            Direction(pin["face"]),
            Joint(pin.get("joint", "wire")),
        )
        for pin in document["pins"]
    )
    size = _cell(document["size"])
    stack = document.get("stack")
    if stack is not None:
        stack = Stack(stack["axis"], stack.get("pitch", size["xyz".index(stack["axis"])]))
    return Layout(size, cells, pins, stack, document.get("ground", False), document.get("name"))


def _cell(numbers: Iterable[int]) -> Cell:
    x, y, z = numbers
    return (x, y, z)


# Sections 2, 6 and 8: what is legal.


def illegalities(layout: Layout, rules: Rules = DEFAULT_RULES) -> list[Reason]:
    """Everything that breaks section 2, 6 or 8; empty for a legal layout."""
    reasons: list[Reason] = []
    for cell, block in layout.cells.items():
        below = layout.cells.get(DOWN.step(cell))
        if below is None and cell[2] == 0 and layout.ground:
            # "With ground, the cells just under height 0 carry wires and buffers as a ledge does"
            below = LEDGE
        under = None if below is None else below.part
        if block.part is Part.WIRE and under not in (Part.SOLID, Part.CLEAR, Part.LEDGE):
            # "wire: on a solid, clear or ledge"
            reasons.append((RuleId.SUPPORT, cell))
        if block.part is Part.BUFFER and under not in (Part.SOLID, Part.LEDGE):
            # "buffer: on a solid or ledge, not on clear"
            reasons.append((RuleId.SUPPORT, cell))
        if block.part is Part.BUFFER and block.delay not in rules.buffer_delays:
            # "delay = 1, 2, 3 or 4 (parameter)"
            reasons.append((RuleId.BUFFER_DELAY, cell))
        if block.part is Part.INVERTER:
            # "The host of an inverter is its neighbour in direction `on`; it must be a solid
            # inside the box."
            host = layout.cells.get(facing(block).step(cell))
            if host is None or host.part is not Part.SOLID:
                reasons.append((RuleId.HOST, cell))
    for index, one in enumerate(layout.pins):
        for other in layout.pins[:index]:
            # "One face carries at most one pin"
            if (one.at, one.face) == (other.at, other.face):
                reasons.append((RuleId.PIN_FACE, one.at))
            elif _too_close(one, other, (0, 0, 0)):
                reasons.append((RuleId.PIN_SPACING, one.at))
    reasons.extend(_spacing_between_copies(layout))
    return reasons


def _too_close(one: Pin, other: Pin, shift: Cell) -> bool:
    """Whether two pins break the spacing of section 6, ``other`` moved by ``shift``."""
    if one.face is not other.face:
        return False  # "pins on different sides never touch"
    along = 1 if one.face.axis == "x" else 0  # "the lane (the coordinate along the side)"
    lanes = abs(one.at[along] - other.at[along] - shift[along])
    heights = abs(one.at[2] - other.at[2] - shift[2])
    if lanes == 0:
        # "two pins in the same lane lie at least 2 apart in height, whatever their joints"
        return heights < 2
    if one.joint is Joint.WIRE and other.joint is Joint.WIRE:
        # "two pins with wire joints in different lanes have lanes differing by at least 2 or
        # heights by at least 2"
        return lanes < 2 and heights < 2
    return False  # "other pairs are free"


def _spacing_between_copies(layout: Layout) -> list[Reason]:
    """Section 6: "This holds between the copies of a stack too." """
    if layout.stack is None:
        return []
    axis = "xyz".index(layout.stack.axis)
    reasons = []
    for one in layout.pins:
        for other in layout.pins:
            if "xyz".index(one.face.axis) == axis or "xyz".index(other.face.axis) == axis:
                continue  # copies have no side in common across the axis; section 7 refuses it
            for number in range(1, layout.size[axis] + 2):
                if _too_close(one, other, along(axis, number * layout.stack.pitch)):
                    reasons.append((RuleId.PIN_SPACING, one.at))
    return reasons


def along(axis: int, cells: int) -> Cell:
    """A shift of so many cells along an axis."""
    return (cells if axis == 0 else 0, cells if axis == 1 else 0, cells if axis == 2 else 0)


def plus(one: Cell, other: Cell) -> Cell:
    """The cell ``other`` steps away from ``one``."""
    return (one[0] + other[0], one[1] + other[1], one[2] + other[2])


def facing(block: Block) -> Direction:
    """``on`` of an inverter, ``to`` of a buffer."""
    assert block.facing is not None
    return block.facing
