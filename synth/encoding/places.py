"""Places under numbers: what can be asked of an instant is found once, and then looked up.

The rules ask for the same places in every play at every tick: what drives this solid, what is at
the back of that buffer. Where these lie follows from the box alone. So a rule finds them once, as
numbers, and an ``Instant`` gives the literal of a number (``rails``). A ``Places`` is a ``View``:
whatever lists causes as literals (``causes``) lists them as numbers just as well.
"""

from __future__ import annotations

from collections.abc import Hashable

from synth.encoding.geometry import Slot
from synth.encoding.shape import Node
from synth.encoding.statics import Statics
from synth.medium import Cell, Direction, Joint

NOWHERE = 0
"""The number of whatever is never anything: outside the box and its next copies, say."""


class Places:
    """Gives numbers to what one rail can be asked for.

    Args:
        statics: what may be where.
        crossing: whether what this rail says of the next copies of a stack counts here.

    Attributes:
        asked: by number, the look-up of an instant, and what it is asked for.
    """

    def __init__(self, statics: Statics, *, crossing: bool) -> None:
        self.statics = statics
        self.crossing = crossing
        self.asked: list[tuple[str, tuple[Hashable, ...]]] = [("", ())]
        self._numbers: dict[tuple[Hashable, ...], int] = {}

    def power(self, family: str, cell: Cell) -> int:
        """``wire``, ``charged``, ``driven`` or ``inverter`` at a cell, or in the next copy."""
        geometry = self.statics.geometry
        shown = cell in geometry.within or (
            self.crossing and geometry.in_other_copy(cell) is not None
        )
        return self._number("power", family, cell) if shown else NOWHERE

    def wire(self, node: Node) -> int:
        """The wire or lead at a node of the box."""
        return self._number("wire", node)

    def lead(self, cell: Cell, face: Direction) -> int:
        """The lead beyond that face."""
        return self._number("lead", cell, face) if Slot(cell, face) in self._slots else NOWHERE

    def buffer(self, cell: Cell, to: Direction) -> int:
        """The buffer in a cell that points along ``to``."""
        inside = cell in self.statics.geometry.within
        return self._number("buffer", cell, to) if inside else NOWHERE

    def input_on(self, joint: Joint, cell: Cell, face: Direction) -> int:
        """An input with that joint beyond that face."""
        shown = Slot(cell, face) in self._slots
        return self._number("input_on", joint, cell, face) if shown else NOWHERE

    @property
    def _slots(self) -> dict[Slot, tuple[str, ...]]:
        return self.statics.names_at

    def _number(self, *asked: Hashable) -> int:
        if asked not in self._numbers:
            self._numbers[asked] = len(self.asked)
            self.asked.append((str(asked[0]), asked[1:]))
        return self._numbers[asked]


def somewhere(numbers: list[int]) -> list[int]:
    """The numbers without those of what is nowhere."""
    return [number for number in numbers if number != NOWHERE]
