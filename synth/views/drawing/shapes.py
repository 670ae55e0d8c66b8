"""The shape of each part in space: boxes within its cell, for every drawing in three dimensions.

Coordinates run from 0 to 1 within the cell, along x, y and z of the medium. A ledge is the upper
half of its cell, since what rests on it lies in the cell above.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from enum import Enum

from synth.medium import LEVEL_DIRECTIONS, Block, Direction, Part
from synth.views.drawing import palette

Corner = tuple[float, float, float]


class Material(Enum):
    """What a box is made of: fill, edge, and how much of what is behind it is hidden (0 to 1)."""

    SOLID = ("solid", palette.SOLID_FILL, palette.INK, 1.0)
    CLEAR = ("clear", palette.CLEAR_FILL, palette.FAINT, 0.25)
    LEDGE = ("ledge", palette.LEDGE_FILL, palette.LEDGE_LINE, 0.7)
    WIRE = ("wire", palette.WIRE_LINE, palette.WIRE_LINE, 1.0)
    INVERTER = ("inverter", palette.INVERTER_FILL, palette.INVERTER_LINE, 1.0)
    TIP = ("tip", palette.PAPER, palette.INVERTER_LINE, 1.0)
    BUFFER = ("buffer", palette.BUFFER_FILL, palette.BUFFER_LINE, 1.0)
    POINTER = ("pointer", palette.BUFFER_LINE, palette.BUFFER_LINE, 1.0)

    def __init__(self, word: str, fill: str, line: str, opacity: float) -> None:
        self.word = word
        self.fill = fill
        self.line = line
        self.opacity = opacity


@dataclass(frozen=True, slots=True)
class Box:
    """An upright box from ``low`` to ``high``, each a corner within the cell."""

    low: Corner
    high: Corner
    material: Material


def boxes_of(
    block: Block, runs: Iterable[Direction] = (), rises: Iterable[Direction] = ()
) -> tuple[Box, ...]:
    """The boxes that make up a block, those further down first.

    Args:
        block: what to shape.
        runs: of a wire, the level directions it runs towards (section 3).
        rises: of a wire, the level directions in which it is linked to a wire one step up.
    """
    if block.part is Part.SOLID:
        return (Box((0, 0, 0), (1, 1, 1), Material.SOLID),)
    if block.part is Part.CLEAR:
        return (Box((0, 0, 0), (1, 1, 1), Material.CLEAR),)
    if block.part is Part.LEDGE:
        return (Box((0, 0, 0.5), (1, 1, 1), Material.LEDGE),)
    if block.part is Part.WIRE:
        return _wire(runs, rises)
    assert block.facing is not None
    if block.part is Part.BUFFER:
        return _buffer(block.facing, block.delay)
    return _inverter(block.facing)


def _wire(runs: Iterable[Direction], rises: Iterable[Direction]) -> tuple[Box, ...]:
    boxes = [_along(way, (0.5, 1), 0.08, (0, 0.08), Material.WIRE) for way in sorted(runs)]
    boxes.append(Box((0.36, 0.36, 0), (0.64, 0.64, 0.12), Material.WIRE))
    boxes += [_along(way, (0.92, 1), 0.08, (0.08, 1), Material.WIRE) for way in sorted(rises)]
    return tuple(boxes)


def _buffer(to: Direction, delay: int) -> tuple[Box, ...]:
    """A slab with a stepped arrow on it, and a knob for each tick (none for more than 4)."""
    boxes = [Box((0.06, 0.06, 0), (0.94, 0.94, 0.12), Material.BUFFER)]
    steps = [(0.30, 0.45, 0.30), (0.45, 0.60, 0.22), (0.60, 0.75, 0.13), (0.75, 0.90, 0.05)]
    boxes += [
        _along(to, (start, end), half, (0.12, 0.24), Material.POINTER) for start, end, half in steps
    ]
    knobs = delay if delay <= 4 else 0
    for knob in range(knobs):
        across = 0.5 + 0.2 * (knob - (knobs - 1) / 2)
        boxes.append(_placed(to, (0.12, 0.22), (across - 0.06, across + 0.06), (0.12, 0.3)))
    return tuple(boxes)


def _inverter(on: Direction) -> tuple[Box, ...]:
    """A stepped cone with its base on the host, and a separate tip: the sign of negation."""
    steps = [(0.0, 0.14, 0.3), (0.14, 0.28, 0.22), (0.28, 0.42, 0.13)]
    tip = (0.46, 0.66, 0.1)
    parts = [(step, Material.INVERTER) for step in steps] + [(tip, Material.TIP)]
    boxes = []
    for (start, end, half), material in parts:
        if on is Direction.NZ:
            low, high = 0.5 - half, 0.5 + half
            boxes.append(Box((low, low, start), (high, high, end), material))
        else:
            # Distances count from the host, so the cone points along the opposite direction.
            boxes.append(
                _along(on.opposite, (start, end), half, (0.5 - half, 0.5 + half), material)
            )
    return tuple(boxes)


def _along(
    way: Direction,
    span: tuple[float, float],
    half: float,
    rise: tuple[float, float],
    material: Material,
) -> Box:
    """A box from ``span[0]`` to ``span[1]`` along ``way``, ``2 * half`` wide across it."""
    return _placed(way, span, (0.5 - half, 0.5 + half), rise, material)


def _placed(
    way: Direction,
    span: tuple[float, float],
    across: tuple[float, float],
    rise: tuple[float, float],
    material: Material = Material.POINTER,
) -> Box:
    assert way in LEVEL_DIRECTIONS
    start, end = span if way in (Direction.PX, Direction.PY) else (1 - span[1], 1 - span[0])
    if way.axis == "x":
        return Box((start, across[0], rise[0]), (end, across[1], rise[1]), material)
    return Box((across[0], start, rise[0]), (across[1], end, rise[1]), material)
