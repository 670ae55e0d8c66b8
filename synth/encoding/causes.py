"""What powers what at one instant (sections 4 and 6): the causes of each effect, as literals.

Both rails, the goal and the flow of known signals ask the same of different variables; a ``View``
says which. ``Places`` is a view of numbers: what is found once there holds at every instant.
"""

from __future__ import annotations

from typing import Protocol

from synth.encoding.geometry import Slot
from synth.encoding.shape import Node
from synth.medium import ALL_DIRECTIONS, LEVEL_DIRECTIONS, Cell, Direction, Joint


class View(Protocol):
    """Literals of one instant; the false literal wherever there is nothing."""

    def power(self, family: str, cell: Cell) -> int:
        """``wire``, ``charged``, ``driven`` or ``inverter`` at a cell."""
        ...

    def lead(self, cell: Cell, face: Direction) -> int:
        """The lead beyond that face."""
        ...

    def buffer(self, cell: Cell, to: Direction) -> int:
        """The buffer in a cell that points along ``to``."""
        ...

    def input_on(self, joint: Joint, cell: Cell, face: Direction) -> int:
        """An input with that joint beyond that face."""
        ...


def buffers_into(view: View, cell: Cell) -> list[int]:
    """Section 6: buffers that point into a cell, among them the outside buffers of inputs.

    Medium: 6 outside buffers.
    """
    found = []
    for face in LEVEL_DIRECTIONS:
        found.append(view.buffer(face.step(cell), face.opposite))
        found.append(view.input_on(Joint.BUFFER, cell, face))
    return found


def drivers(view: View, cell: Cell) -> list[int]:
    """Section 4: a solid is driven by an inverter below or a buffer pointing into it.

    Medium: 4 driven.
    """
    return [view.power("inverter", Direction.NZ.step(cell)), *buffers_into(view, cell)]


def sources(view: View, node: Node) -> list[int]:
    """Sections 4 and 6: what gives a wire or lead its full strength.

    Medium: 4 sources; 6 leads receive; 6 input leads.
    """
    if isinstance(node, Slot):
        cell, face = node
        return [
            view.power("driven", cell),
            view.power("inverter", cell),
            view.buffer(cell, face),
            view.input_on(Joint.WIRE, cell, face),
        ]
    found = [view.power("driven", way.step(node)) for way in ALL_DIRECTIONS]
    found += [view.power("inverter", way.step(node)) for way in (*LEVEL_DIRECTIONS, Direction.PZ)]
    return found + buffers_into(view, node)


def seen_at_back(view: View, buffer: Slot) -> list[int]:
    """Sections 4 and 6: what gives power to the back of a buffer in a cell, pointing a way.

    Medium: 4 buffer sees; 6 leads give; 6 outside buffers.
    """
    cell, to = buffer
    back = to.opposite.step(cell)
    return [
        view.power("wire", back),
        view.power("charged", back),
        view.power("inverter", back),
        view.buffer(back, to),
        view.lead(cell, to.opposite),
        view.input_on(Joint.BUFFER, cell, to.opposite),
    ]


def read_by(view: View, joint: Joint, slot: Slot) -> list[int]:
    """Sections 6 and 11: what an output pin at a slot reads on by: its lead, or what its buffer
    sees. In the cell of a link's output that is the buffer there.

    Medium: 6 outputs read; 11 outputs read.
    """
    cell, face = slot
    if joint is Joint.WIRE:
        return [view.lead(cell, face)]
    return [
        view.power("wire", cell),
        view.power("charged", cell),
        view.power("inverter", cell),
        view.buffer(cell, face),
    ]
