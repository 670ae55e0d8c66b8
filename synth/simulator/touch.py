"""Who touches whom (section 3): links, connections and runs, and who powers whom (section 4).

Every function is one rule, read off a ``Row``; nothing here depends on what is on. "Wire"
includes leads and "buffer" the outside buffers, as both stand in the row.
"""

from __future__ import annotations

from collections.abc import Iterator

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
    """The wires linked to the wire in ``cell`` (section 3).

    Yields the other wire's cell, the level direction towards it, whether strength runs to
    it, and whether strength comes from it. No cell is yielded twice.
    """
    above, below = Direction.PZ.step(cell), Direction.NZ.step(cell)
    open_above = not is_part(row, above, Part.SOLID)
    stands_on_solid = is_part(row, below, Part.SOLID)
    for direction in LEVEL_DIRECTIONS:
        beside = direction.step(cell)
        block = row.block(beside)
        if block is not None and block.part is Part.WIRE:
            yield beside, direction, True, True
        # One step up: this wire is p, the other q; q descends only from on top of a solid,
        # and the cell below q is the level neighbour of p.
        upper = Direction.PZ.step(beside)
        if open_above and is_part(row, upper, Part.WIRE):
            yield upper, direction, True, block is not None and block.part is Part.SOLID
        # One step down: this wire is q; the level neighbour is the cell above p.
        lower = Direction.NZ.step(beside)
        if not (block is not None and block.part is Part.SOLID) and is_part(row, lower, Part.WIRE):
            yield lower, direction, stands_on_solid, True


def connections(row: Row, cell: Cell) -> set[Direction]:
    """The level directions that the wire in ``cell`` connects towards (section 3)."""
    found = {direction for _, direction, _, _ in links(row, cell)}
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


def runs(row: Row, cell: Cell) -> set[Direction]:
    """The level directions that the wire in ``cell`` runs towards (section 3)."""
    found = connections(row, cell)
    if not found:
        return set(LEVEL_DIRECTIONS)
    if len(found) == 1:
        (only,) = found
        return {only, only.opposite}
    return found


def driving_cells(row: Row, cell: Cell) -> Iterator[Cell]:
    """Cells of the inverters and buffers that drive the solid in ``cell`` while on."""
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
    """Cells of the inverters and buffers that give the wire in ``cell`` full strength."""
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
    """Cells of the buffers that point into a side of the buffer in ``cell`` (section 5)."""
    for direction in facing.sides:
        beside = direction.step(cell)
        if points_into(row.block(beside), direction.opposite):
            yield beside
