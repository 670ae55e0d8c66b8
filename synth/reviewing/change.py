"""Single changes of a layout: how each is made, and how a builder would say it."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping
from dataclasses import dataclass, field, replace
from typing import Any

from synth.layout import Layout, Pin, Stack
from synth.layout.documents import pin_entry
from synth.medium import (
    CLEAR,
    HOST_DIRECTIONS,
    LEDGE,
    LEVEL_DIRECTIONS,
    SOLID,
    WIRE,
    Block,
    Cell,
    Direction,
    Part,
    Rules,
    buffer,
    inverter,
)
from synth.medium_document import block_entry
from synth.simulator.explaining.reasons import show_cell
from synth.simulator.legality import host_faults, support_faults
from synth.words import ticks


@dataclass(frozen=True)
class Change:
    """What is done to a layout.

    Attributes:
        cells: what each changed cell holds afterwards; None: nothing.
        pins: the pins that move or get another joint, as they are afterwards.
        stack: the stacking stated afterwards, or None where it stays as it is.
    """

    cells: Mapping[Cell, Block | None] = field(default_factory=dict)
    pins: tuple[Pin, ...] = ()
    stack: Stack | None = None

    def on(self, layout: Layout) -> Layout:
        """The layout after the change.

        Raises:
            InputError: if that is no layout.
        """
        changed = layout.with_cells(self.cells) if self.cells else layout
        if self.pins:
            moved = {pin.name: pin for pin in self.pins}
            pins = tuple(moved.get(pin.name, pin) for pin in layout.pins)
            changed = changed.replace(pins=pins)
        return changed if self.stack is None else changed.replace(stack=self.stack)

    def document(self) -> dict[str, Any]:
        """The change as documents write it: an emptied cell has the part null."""
        return {
            "cells": [
                {"at": list(cell), "part": None} if block is None else block_entry(cell, block)
                for cell, block in self.cells.items()
            ],
            "pins": [pin_entry(pin) for pin in self.pins],
            "stack": None
            if self.stack is None
            else {"axis": self.stack.axis, "pitch": self.stack.pitch},
        }

    def words(self, layout: Layout) -> str:
        """What to do to ``layout``: ``hang the inverter at (2,0,3) on the side of (1,0,3)``."""
        said = [cell_words(layout, cell, block) for cell, block in self.cells.items()]
        old = {pin.name: pin for pin in layout.pins}
        said += [pin_words(old[pin.name], pin) for pin in self.pins]
        if self.stack is not None:
            said.append(f"state a pitch of {self.stack.pitch} along {self.stack.axis}")
        return "; ".join(said)


def cell_words(layout: Layout, cell: Cell, after: Block | None) -> str:
    """What to do to one cell of a layout, as an order to a builder."""
    before, at = layout.cells.get(cell), show_cell(cell)
    if after is None:
        return f"take out the {'part' if before is None else before.part} at {at}"
    if before is None:
        return f"put {_described(after, cell)} at {at}"
    if before.part is not after.part:
        return f"put {_described(after, cell)} in place of the {before.part} at {at}"
    if after.part is Part.INVERTER:
        assert after.facing is not None
        host = show_cell(after.facing.step(cell))
        if after.facing is Direction.NZ:
            return f"stand the inverter at {at} on {host}"
        return f"hang the inverter at {at} on the side of {host}"
    if before.facing is after.facing:
        return f"set the buffer at {at} to a delay of {ticks(after.delay)}"
    slower = "" if before.delay == after.delay else f", with a delay of {ticks(after.delay)}"
    return f"turn the buffer at {at} to point {after.facing}{slower}"


def _described(block: Block, cell: Cell) -> str:
    """``a wire``, ``an inverter that hangs on the side of (1,0,3)``."""
    if block.part is Part.INVERTER:
        assert block.facing is not None
        host = show_cell(block.facing.step(cell))
        way = "stands on" if block.facing is Direction.NZ else "hangs on the side of"
        return f"an inverter that {way} {host}"
    if block.part is Part.BUFFER:
        return f"a buffer of {ticks(block.delay)} that points {block.facing}"
    return f"a {block.part}"


def pin_words(before: Pin, after: Pin) -> str:
    """What to do to a pin, as an order to a builder."""
    if (before.at, before.face) == (after.at, after.face):
        return f"give pin {after.name!r} a {after.joint} joint"
    return f"move pin {after.name!r} to the face {after.face} of {show_cell(after.at)}"


def cell_changes(layout: Layout, cell: Cell, rules: Rules) -> Iterator[Change]:
    """Every other thing that one cell may hold where its support or host is there, simplest first.

    Existing buffers may get any delay; a new one has the least.
    """
    before = layout.cells.get(cell)
    for block in _blocks(before, rules):
        if block != before and _carried(layout, cell, block):
            yield Change({cell: block})


def _blocks(before: Block | None, rules: Rules) -> Iterator[Block | None]:
    if before is not None and before.part is Part.BUFFER:
        yield from (replace(before, delay=delay) for delay in rules.buffer_delays)
        known = before.delay in rules.buffer_delays
        delay = before.delay if known else rules.buffer_delays[0]
        yield from (buffer(to, delay) for to in LEVEL_DIRECTIONS)
    if before is not None and before.part is Part.INVERTER:
        yield from map(inverter, HOST_DIRECTIONS)
    if before is not None:
        yield None
    yield from (SOLID, LEDGE, CLEAR, WIRE)
    if before is None or before.part is not Part.INVERTER:
        yield from map(inverter, HOST_DIRECTIONS)
    if before is None or before.part is not Part.BUFFER:
        yield from (buffer(to, rules.buffer_delays[0]) for to in LEVEL_DIRECTIONS)


def _carried(layout: Layout, cell: Cell, block: Block | None) -> bool:
    """Whether a block has its own support or host; ``sound_around`` says what else it affects."""
    return block is None or not any(
        (*support_faults(layout, cell, block), *host_faults(layout, cell, block))
    )


def sound_around(layout: Layout, cells: Collection[Cell]) -> bool:
    """Whether parts in and around some cells keep the rules of support and host.

    A part above or beside may rest on what stood there.
    """
    near = set(cells)
    near |= {way.step(cell) for cell in cells for way in (*LEVEL_DIRECTIONS, Direction.PZ)}
    return all(_carried(layout, cell, layout.cells.get(cell)) for cell in near)
