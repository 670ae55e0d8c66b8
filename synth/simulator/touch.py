"""Who touches whom (section 3): links, connections and runs, and who powers whom (section 4).

Every function is one rule, read off a ``Row``; nothing here depends on what is on. "Wire"
includes leads and "buffer" the outside buffers, as both stand in the row.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from synth.medium import (
    ALL_DIRECTIONS,
    LEVEL_DIRECTIONS,
    Block,
    Cell,
    Direction,
    Joint,
    Part,
)
from synth.simulator.row import Row


def is_part(row: Row, cell: Cell, part: Part) -> bool:
    """Whether ``cell`` holds that part."""
    block = row.block(cell)
    return block is not None and block.part is part


def points_into(block: Block | None, towards: Direction) -> bool:
    """Whether a block is a buffer that points along ``towards``."""
    return block is not None and block.part is Part.BUFFER and block.facing is towards


def links(row: Row, cell: Cell) -> Iterator[tuple[Cell, Direction, bool, bool]]:
    """Section 3: the wires linked to the wire in ``cell``, and which way strength runs.

    Yields the other wire's cell, the level direction towards it, whether strength runs to
    it, and whether strength comes from it. No cell is yielded twice. Three rules in one look at
    the neighbours: this is asked for every wire of a layout, and takes most of weaving it.

    Medium: 3 level links; 3 climbing; 3 descending.
    """
    x, y, z = cell
    look = row.block
    above, below = look((x, y, z + 1)), look((x, y, z - 1))
    open_above = above is None or above.part is not Part.SOLID
    stands_on_solid = below is not None and below.part is Part.SOLID
    for direction in LEVEL_DIRECTIONS:
        beside = direction.step(cell)
        block = look(beside)
        part = None if block is None else block.part
        if part is Part.WIRE:
            yield beside, direction, True, True
        # One step up: this wire is p, the other q; q descends only from on top of a solid,
        # and the cell below q is the level neighbour of p.
        if open_above:
            upper = (beside[0], beside[1], z + 1)
            other = look(upper)
            if other is not None and other.part is Part.WIRE:
                yield upper, direction, True, part is Part.SOLID
        # One step down: this wire is q; the level neighbour is the cell above p.
        if part is not Part.SOLID:
            lower = (beside[0], beside[1], z - 1)
            other = look(lower)
            if other is not None and other.part is Part.WIRE:
                yield lower, direction, stands_on_solid, True


Link = tuple[Cell, Direction, bool, bool]
"""What ``links`` says of one wire."""


def connections(row: Row, cell: Cell, linked: Iterable[Link] | None = None) -> set[Direction]:
    """Sections 3 and 6: the level directions that the wire in ``cell`` connects towards.

    A lead connects away from the box as well.

    Args:
        linked: its links, where they are known already.

    Medium: 3 connects; 6 leads.
    """
    found = {direction for _, direction, _, _ in (links(row, cell) if linked is None else linked)}
    for direction in LEVEL_DIRECTIONS:
        block = row.block(direction.step(cell))
        if block is None:
            continue
        if block.part is Part.INVERTER or (
            block.part is Part.BUFFER and block.facing in (direction, direction.opposite)
        ):
            found.add(direction)
    pin = row.pin(cell)
    if pin is not None and pin.joint is Joint.WIRE:
        found.add(pin.face)
    return found


def runs(row: Row, cell: Cell, linked: Iterable[Link] | None = None) -> set[Direction]:
    """Section 3: the level directions that the wire in ``cell`` runs towards.

    Args:
        linked: its links, where they are known already.

    Medium: 3 runs.
    """
    found = connections(row, cell, linked)
    if not found:
        return set(LEVEL_DIRECTIONS)
    if len(found) == 1:
        (only,) = found
        return {only, only.opposite}
    return found


def driving_cells(row: Row, cell: Cell) -> Iterator[Cell]:
    """Section 4: cells of the inverters and buffers that drive the solid in ``cell`` while on.

    Medium: 4 driven.
    """
    below = Direction.NZ.step(cell)
    if is_part(row, below, Part.INVERTER):
        yield below
    yield from feeding_buffers(row, cell)


def feeding_buffers(row: Row, cell: Cell) -> Iterator[Cell]:
    """Cells of the buffers beside ``cell`` that point into it."""
    for direction in LEVEL_DIRECTIONS:
        beside = direction.step(cell)
        if points_into(row.block(beside), direction.opposite):
            yield beside


def powering_cells(row: Row, cell: Cell) -> Iterator[Cell]:
    """Section 4: cells of the inverters and buffers that give a wire in ``cell`` full strength.

    Medium: 4 sources.
    """
    for direction in (*LEVEL_DIRECTIONS, Direction.PZ):
        beside = direction.step(cell)
        if is_part(row, beside, Part.INVERTER):
            yield beside
    yield from feeding_buffers(row, cell)


def neighbouring_solids(row: Row, cell: Cell) -> Iterator[Cell]:
    """The solids among the six neighbours of ``cell``."""
    for direction in ALL_DIRECTIONS:
        beside = direction.step(cell)
        if is_part(row, beside, Part.SOLID):
            yield beside


def holding_cells(row: Row, cell: Cell, facing: Direction) -> Iterator[Cell]:
    """Section 5: cells of the buffers that point into a side of the buffer in ``cell``.

    Medium: 5 held in time; 5 held settle.
    """
    for direction in facing.sides:
        beside = direction.step(cell)
        if points_into(row.block(beside), direction.opposite):
            yield beside
