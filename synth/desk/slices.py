"""Slices of the box put in and taken out, and its size.

Parts beyond the slice move along, and so do locks. A pin that faces along the axis keeps to the end
of the box that it sits at; every other pin moves with its cell.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

from synth.desk.design import Design, checked
from synth.errors import InputError
from synth.layout import Layout, Pin
from synth.medium import AXES, Cell, Direction, Size, with_place


def with_slice(design: Design, axis: str, at: int) -> Design:
    """The design with an empty slice before the one that is ``at`` along ``axis``."""
    index = AXES.index(axis)

    def along(place: int) -> int | None:
        return place + 1 if place >= at else place

    return _carried(design, index, design.layout.size[index] + 1, along)


def without_slice(design: Design, axis: str, at: int) -> Design:
    """The design without the slice that is ``at`` along ``axis``, its parts and its pins.

    Raises:
        InputError: if it is the only one.
    """
    index = AXES.index(axis)
    side = design.layout.size[index]
    if side == 1:
        raise InputError(f"the box has one slice along {axis} only", way_out="keep it")

    def along(place: int) -> int | None:
        return None if place == at else place - (place > at)

    return _carried(design, index, side - 1, along)


def resized(design: Design, size: Size) -> Design:
    """The design in a box of another size: its far ends move, and nothing is cut off.

    Raises:
        InputError: if a part or a pin would lie outside.
    """
    for index, side in enumerate(size):
        if side != design.layout.size[index]:
            _require_room(design.layout, index, side)
            design = _carried(design, index, side, lambda place: place)
    return design


def _require_room(layout: Layout, index: int, side: int) -> None:
    for cell, block in layout.cells.items():
        if cell[index] >= side:
            raise InputError(
                f"the {block.part} at {list(cell)} would lie outside the box",
                place="size",
                way_out="move or delete it first, or take out a slice",
            )


def _carried(design: Design, index: int, side: int, along: Callable[[int], int | None]) -> Design:
    """Every cell carried along an axis to where ``along`` says; None drops it."""
    layout = design.layout
    size = with_place(layout.size, index, side)

    def carried(cell: Cell) -> Cell | None:
        place = along(cell[index])
        return None if place is None or place >= side else with_place(cell, index, place)

    cells = {}
    for cell, block in layout.cells.items():
        goal = carried(cell)
        if goal is not None:
            cells[goal] = block
    pins = []
    for pin in layout.pins:
        at = _pin_at(pin, index, side, carried)
        if at is not None:
            pins.append(Pin(pin.name, pin.role, at, pin.face, pin.joint))
    stack = layout.stack
    if stack is not None and AXES.index(stack.axis) == index:
        # A pitch that was the box's size stays that; a larger one keeps its gap.
        stack = replace(stack, pitch=max(1, stack.pitch + side - layout.size[index]))
    locked = frozenset(goal for goal in map(carried, design.locked) if goal is not None)
    changed = layout.replace(size=size, cells=cells, pins=tuple(pins), stack=stack)
    return Design(checked(changed), locked)


def _pin_at(pin: Pin, index: int, side: int, carried: Callable[[Cell], Cell | None]) -> Cell | None:
    if AXES.index(pin.face.axis) != index:
        return carried(pin.at)
    low = pin.face in (Direction.NX, Direction.NY)
    return with_place(pin.at, index, 0 if low else side - 1)
