"""The characters that stand for parts and for the ways of signals: one table for all."""

from __future__ import annotations

import re

from synth.medium import (
    HOST_DIRECTIONS,
    LEVEL_DIRECTIONS,
    Block,
    Direction,
    Part,
    Role,
    buffer,
    inverter,
)

EMPTY_GLYPH = " ."

PLAIN_GLYPHS = {
    Part.SOLID: "##",
    Part.CLEAR: "::",
    Part.LEDGE: "==",
    Part.WIRE: "++",
}
"""Glyph pairs of the parts that face nowhere."""

ARROWS = {
    Direction.PX: ">",
    Direction.NX: "<",
    Direction.PY: "^",
    Direction.NY: "v",
    Direction.NZ: "_",
}
"""A direction as seen from above; ``_`` is the cell below."""

SLOW = "*"
"""In place of a delay above 9 ticks, which is then listed beside the drawing."""

CELL_WIDTH = 3
"""Columns of a cell: its pair of characters, and one to part it from the next."""


def glyph(block: Block | None) -> str:
    """The two characters that stand for what a cell holds."""
    if block is None:
        return EMPTY_GLYPH
    if block.facing is None:
        return PLAIN_GLYPHS[block.part]
    if block.part is Part.INVERTER:
        return f"~{ARROWS[block.facing]}"
    delay = str(block.delay) if block.delay < 10 else SLOW
    return f"{delay}{ARROWS[block.facing]}"


BLOCKS: dict[str, Block | None] = {".": None, "..": None} | {
    glyph(block): block
    for block in (
        *map(Block, PLAIN_GLYPHS),
        *(inverter(way) for way in HOST_DIRECTIONS),
        *(buffer(way, delay) for way in LEVEL_DIRECTIONS for delay in range(1, 10)),
    )
}
"""What each pair of characters stands for; an empty cell may be one dot or two."""

SLOW_BUFFERS = {f"{SLOW}{ARROWS[way]}": way for way in LEVEL_DIRECTIONS}
"""Where buffers point whose delay is listed beside the drawing."""

ALL_GLYPHS = "## :: == ++ . ~< ~> ~^ ~v ~_ 1< 1> 1^ 1v"
"""What a cell may be, for messages."""

_WORDS = [*BLOCKS, *SLOW_BUFFERS]
CELL = re.compile("|".join(re.escape(word) for word in sorted(_WORDS, key=len, reverse=True)))
"""One cell."""

POWERED_CELL = re.compile(rf"(?P<strength>\d\d?)(?=[ *]|$)|{CELL.pattern}")
"""One cell of a drawing that shows power: there the strength of a wire stands in its place."""


def pin_arrow(face: Direction, role: Role) -> str:
    """The way of a pin's signal, as drawn beside its face."""
    return ARROWS[face if role is Role.OUTPUT else face.opposite]


def role_of(face: Direction, arrow: str) -> Role:
    """Whether an arrow beside a face leads in or out; it runs along the face's axis."""
    return Role.OUTPUT if arrow == ARROWS[face] else Role.INPUT
