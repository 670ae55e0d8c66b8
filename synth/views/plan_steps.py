"""In which order the parts of a layout are placed, in steps that can be drawn.

Layers are built from the lowest up: in each layer blocks first, then what rests on the layer below,
then inverters. A host lies beside or below its inverter and a support below what it carries
(section 2), so every part finds its support or host in place. A step is small enough for a picture
that can be read. A layout with pieces is built piece by piece, in the same order within each.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass

from synth.layout import Layout, Piece, PieceKind
from synth.medium import ALL_DIRECTIONS, Block, Cell, Direction, Part, Size
from synth.views.drawing.shown import Window

BUILDING_ORDER = (
    Part.SOLID,
    Part.CLEAR,
    Part.LEDGE,
    Part.WIRE,
    Part.BUFFER,
    Part.INVERTER,
)
"""Parts in the order in which one layer is built."""

MOST_IN_STEP = 16
"""The most parts that one step places."""

MOST_LONG, MOST_ABOUT = 12, 14
"""The most cells that the window of a step shows along one side, and along both sides together.

With more, letters would be smaller than 8 points where the pictures fill the width of a page."""

_STRIPE = 4
"""In a wide layout, one step stays within a strip of this many cells across."""


@dataclass(frozen=True, slots=True)
class Placement:
    """One part to place.

    Attributes:
        number: counts from 1 through the whole plan.
        cell: the cell where it goes.
        block: the part.
        rests: the cell that holds its support or host; None for blocks and on ground.
        floats: whether no neighbour is in place yet, so that it touches nothing.
        beside: for a block with nothing below it, the direction of a neighbour that is in place.
    """

    number: int
    cell: Cell
    block: Block
    rests: Cell | None
    floats: bool
    beside: Direction | None = None


@dataclass(frozen=True, slots=True)
class PlanStep:
    """Parts of one kind in one layer, near one another.

    Attributes:
        number: counts from 1.
        z: the layer.
        part: the kind of part.
        placements: the parts to place, in order.
        window: the part of the box to show: these parts and what they touch.
    """

    number: int
    z: int
    part: Part
    placements: tuple[Placement, ...]
    window: Window


@dataclass(frozen=True, slots=True)
class PlanSection:
    """The steps of one piece.

    Attributes:
        piece: the piece; None of parts that are in none, or of a layout without pieces.
        steps: its steps.
    """

    piece: Piece | None
    steps: tuple[PlanStep, ...]


def building_sections(layout: Layout) -> tuple[PlanSection, ...]:
    """Every part once: the gates one after another, the wires between them, then all else.

    What a part of a piece rests or hangs on is placed with the piece, whichever it belongs to.
    """
    placed: set[Cell] = set()
    sections: list[PlanSection] = []
    number = 1
    pieces = sorted(layout.pieces, key=lambda piece: piece.kind is PieceKind.WIRE)
    for piece in (*pieces, None):
        cells = set(layout.cells if piece is None else piece.cells)
        for cell in list(cells):
            support = support_of(layout, cell)
            while support is not None and support in layout.cells and support not in cells:
                cells.add(support)
                support = support_of(layout, support)
        cells -= placed
        if not cells:
            continue
        size, low = (layout.size, (0, 0, 0)) if piece is None else (piece.size, piece.box[0])
        steps = _steps(layout, cells, placed, number, size, low)
        number += len(steps)
        sections.append(PlanSection(piece, steps))
    return tuple(sections)


def building_steps(layout: Layout) -> tuple[PlanStep, ...]:
    """Every part once, in the order of ``building_sections``."""
    return tuple(step for section in building_sections(layout) for step in section.steps)


def _steps(
    layout: Layout, own: Collection[Cell], placed: set[Cell], number: int, size: Size, low: Cell
) -> tuple[PlanStep, ...]:
    """Some parts layer by layer, one kind of part at a time; ``placed`` grows by them.

    Args:
        own: the parts.
        placed: what is in place.
        number: of the first step.
        size, low: of the box that the parts lie in, and its lowest cell.
    """
    steps: list[PlanStep] = []
    for z in range(layout.height):
        for part in BUILDING_ORDER:
            cells = [c for c in own if c[2] == z and layout.cells[c].part is part]
            groups = _groups(layout, cells, size, low)
            while groups:
                # A group that touches something in place goes before one that would float.
                group = next((g for g in groups if _any_held(g, placed)), groups[0])
                groups.remove(group)
                placements = []
                for cell in _near_first(group, placed):
                    rests = support_of(layout, cell)
                    floats = rests is None and not _carried(cell, placed)
                    block = layout.cells[cell]
                    beside = _beside(cell, placed) if rests is None else None
                    nth = len(placed) + 1
                    placements.append(Placement(nth, cell, block, rests, floats, beside))
                    placed.add(cell)
                window = window_of(layout, group)
                steps.append(PlanStep(number + len(steps), z, part, tuple(placements), window))
    return tuple(steps)


def window_of(layout: Layout, cells: Sequence[Cell]) -> Window:
    """The cells and those around them, within the box, with the layer below."""
    lows = [max(0, min(c[axis] for c in cells) - 1) for axis in range(3)]
    highs = [min(layout.size[axis], max(c[axis] for c in cells) + 2) for axis in range(2)]
    z = cells[0][2]
    return Window((lows[0], lows[1], max(0, z - 1)), (highs[0], highs[1], z + 1))


def _groups(layout: Layout, cells: Sequence[Cell], size: Size, low: Cell) -> list[list[Cell]]:
    """The cells of one layer in groups small enough for a step, along the longer side."""
    along, across = (0, 1) if size[0] >= size[1] else (1, 0)
    stripe_of = min(_STRIPE, size[across])

    def stripe_at(cell: Cell) -> int:
        return (cell[across] - low[across]) // stripe_of

    groups: list[list[Cell]] = []
    stripe: int | None = None
    for cell in sorted(cells, key=lambda c: (stripe_at(c), c[along], c[across])):
        if stripe == stripe_at(cell) and _fits(layout, [*groups[-1], cell]):
            groups[-1].append(cell)
        else:
            groups.append([cell])
        stripe = stripe_at(cell)
    return groups


def _fits(layout: Layout, cells: Sequence[Cell]) -> bool:
    long, wide, _ = window_of(layout, cells).size
    return len(cells) <= MOST_IN_STEP and long <= MOST_LONG and long + wide <= MOST_ABOUT


def _any_held(cells: Sequence[Cell], placed: set[Cell]) -> bool:
    return any(c[2] == 0 or any(way.step(c) in placed for way in ALL_DIRECTIONS) for c in cells)


def _beside(cell: Cell, placed: set[Cell]) -> Direction | None:
    """For a block with nothing below it, the direction of a neighbour in place, if there is one."""
    if cell[2] == 0 or Direction.NZ.step(cell) in placed:
        return None
    return next((way for way in ALL_DIRECTIONS if way.step(cell) in placed), None)


def support_of(layout: Layout, cell: Cell) -> Cell | None:
    """The cell that a part rests or hangs on; None for blocks, and for parts on ground."""
    block = layout.cells[cell]
    if block.part is Part.INVERTER and block.facing is not None:
        return block.facing.step(cell)
    if block.part in (Part.WIRE, Part.BUFFER):
        below = Direction.NZ.step(cell)
        return below if layout.inside(below) else None
    return None


def _near_first(cells: Sequence[Cell], placed: set[Cell]) -> list[Cell]:
    """The cells by x and y, but a block that would float waits until it touches another."""
    waiting, ordered = sorted(cells), list[Cell]()
    there = set(placed)
    while waiting:
        held = (c for c in waiting if any(way.step(c) in there for way in ALL_DIRECTIONS))
        cell = next(held, waiting[0])
        waiting.remove(cell)
        ordered.append(cell)
        there.add(cell)
    return ordered


def _carried(cell: Cell, placed: set[Cell]) -> bool:
    """Whether a block stands on the floor or touches what is in place."""
    return cell[2] == 0 or any(way.step(cell) in placed for way in ALL_DIRECTIONS)
