"""Where signals enter and leave a layout, and how its copies are set side by side."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from synth.errors import InputError
from synth.medium import AXES, Cell, Direction, Joint, Role


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
    """Copies set side by side along ``axis``, one every ``pitch`` cells (section 7)."""

    axis: str
    pitch: int

    def __post_init__(self) -> None:
        if self.axis not in AXES:
            raise InputError(f"no axis {self.axis!r}", way_out="use one of x, y, z")
        if self.pitch < 1:
            raise InputError(f"a pitch of {self.pitch} cells", way_out="use 1 or more")


def show_size(size: Iterable[int]) -> str:
    """``3 x 2 x 5``: length, width and height as messages write them."""
    return " x ".join(str(cells) for cells in size)
