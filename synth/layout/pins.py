"""Where signals enter and leave a layout, and how its copies are set side by side."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from synth.errors import InputError
from synth.medium import AXES, Cell, ChainLink, Direction, Joint, Role


@dataclass(frozen=True, slots=True)
class Pin:
    """Where a signal enters or leaves (section 6).

    Attributes:
        name: a simple identifier, unique in its layout.
        role: input or output.
        at: the cell it sits on, at the edge of the box.
        face: the level face of that cell; the cell beyond lies outside the box.
        joint: what stands outside.
    """

    name: str
    role: Role
    at: Cell
    face: Direction
    joint: Joint = Joint.WIRE

    @property
    def outside(self) -> Cell:
        """The cell beyond the face, where the lead or the outside buffer stands."""
        return self.face.step(self.at)


@dataclass(frozen=True, slots=True)
class Stack:
    """Copies set side by side along ``axis``, one every ``pitch`` cells (section 7).

    Attributes:
        axis: ``x``, ``y`` or ``z``.
        pitch: cells from one copy to the next.
        chain: links by which each copy hands signals to the next (section 11), in order of names.
    """

    axis: str
    pitch: int
    chain: tuple[ChainLink, ...] = ()

    def __post_init__(self) -> None:
        if self.axis not in AXES:
            raise InputError(f"no axis {self.axis!r}", way_out="use one of x, y, z")
        if self.pitch < 1:
            raise InputError(f"a pitch of {self.pitch} cells", way_out="use 1 or more")
        object.__setattr__(self, "chain", tuple(sorted(self.chain)))

    def __str__(self) -> str:
        chain = f", chain {' '.join(map(str, self.chain))}" if self.chain else ""
        return f"{self.axis} at pitch {self.pitch}{chain}"

    @property
    def forwards(self) -> Direction:
        """The direction in which a chain hands its signals on: +A of section 11."""
        return Direction(f"+{self.axis}")

    def linked(self, name: str) -> bool:
        """Whether the pin called ``name`` is an end of a link."""
        return any(name in (link.output, link.input) for link in self.chain)

    def receives(self, name: str) -> bool:
        """Whether the pin called ``name`` is the input of a link."""
        return any(name == link.input for link in self.chain)

    def sends(self, name: str) -> bool:
        """Whether the pin called ``name`` is the output of a link."""
        return any(name == link.output for link in self.chain)


def show_size(size: Iterable[int]) -> str:
    """``3 x 2 x 5``: length, width and height as messages write them."""
    return " x ".join(str(cells) for cells in size)
