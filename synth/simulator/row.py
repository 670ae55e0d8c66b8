"""What every cell holds: a layout with what stands outside its pins, alone or in a row."""

from __future__ import annotations

from collections.abc import Callable

from synth.layout import Layout, Pin, Stack
from synth.medium import AXES, WIRE, Block, Cell, Joint, Role, buffer


def outside_block(pin: Pin) -> Block:
    """Section 6: what stands beyond a pin's face: a wire, the lead, or a buffer.

    The buffer of an input points inwards, that of an output outwards; the delay of the value
    returned says nothing, as an outside buffer has none.

    Medium: 6 leads; 6 outside buffers.
    """
    if pin.joint is Joint.WIRE:
        return WIRE
    return buffer(pin.face.opposite if pin.role is Role.INPUT else pin.face)


class _Seen(dict[Cell, Block | None]):
    """What stands in cells, worked out where it is first asked."""

    def __init__(self, found: Callable[[Cell], Block | None]) -> None:
        super().__init__()
        self._found = found

    def __missing__(self, cell: Cell) -> Block | None:
        found = self[cell] = self._found(cell)
        return found


class Row:
    """Copies of one layout side by side, addressed by cell.

    The first real copy has its box at the origin; copy ``k`` lies ``k * pitch`` cells further
    along the axis. A layout that stands alone is a row of one real copy.

    Where the stack is a chain, this is the row that a copy is judged in (section 11): the input
    of a link is in every copy an input, which the others know nothing of. A row that hands its
    signals on is played as one layout (``synth.layout.transform.repeated``).

    Args:
        layout: the layout; no pin of it faces along the axis of ``stack``.
        stack: axis and pitch (at least the size of the box), or None for a copy alone.
        copies: number of real copies, 0 to ``copies - 1``.
        fog_below: whether the row goes on without end before copy 0 with copies of which
            nothing is known (``stacking.py`` says what they are for).
        fog_above: the same after the last real copy.
    """

    def __init__(
        self,
        layout: Layout,
        stack: Stack | None = None,
        copies: int = 1,
        *,
        fog_below: bool = False,
        fog_above: bool = False,
    ) -> None:
        self.layout = layout
        self.copies = copies
        self._fog_below = fog_below
        self._fog_above = fog_above
        self._axis = 0 if stack is None else AXES.index(stack.axis)
        self._pitch = 0 if stack is None else stack.pitch
        self._blocks: dict[Cell, Block] = dict(layout.cells)
        self._pins: dict[Cell, Pin] = {}
        chain = stack or layout.stack
        # Nothing stands in front of the last copy's outputs of links, and in front of others the
        # next copy does; behind the inputs of others stands the copy before, whose buffer it is.
        self._entries: dict[Cell, Block] = {}
        for pin in layout.pins:
            if chain is not None and chain.sends(pin.name):
                continue
            self._blocks[pin.outside] = outside_block(pin)
            self._pins[pin.outside] = pin
            if chain is not None and chain.receives(pin.name):
                self._entries[pin.outside] = outside_block(pin)
        self._chain = chain
        self.block: Callable[[Cell], Block | None] = self._blocks.get
        """What stands in a cell, or None; leads and outside buffers included.

        Every cell is looked at from all its neighbours; with copies it is worked out once. This is
        asked more often than anything else, so a table answers, with no function of ours between.
        """
        if self._pitch:
            self.block = _Seen(self._found).__getitem__

    def receives(self, pin: Pin) -> bool:
        """Whether a pin is the input of a link (section 11)."""
        return self._chain is not None and self._chain.receives(pin.name)

    def sends(self, pin: Pin) -> bool:
        """Whether a pin is the output of a link (section 11)."""
        return self._chain is not None and self._chain.sends(pin.name)

    def shifted(self, cell: Cell, copy: int) -> Cell:
        """Where ``cell`` of the layout lies in that copy."""
        moved = list(cell)
        moved[self._axis] += copy * self._pitch
        return (moved[0], moved[1], moved[2])

    def home(self, cell: Cell) -> tuple[int, Cell] | None:
        """The copy that a cell belongs to and the cell of the layout it is there.

        Cells beyond faces that do not lie along the axis belong to the copy as well. None
        when the row has no copy there, or in the gap that a larger pitch leaves.
        """
        if not self._pitch:
            return (0, cell)
        copy, offset = divmod(cell[self._axis], self._pitch)
        if offset >= self.layout.size[self._axis]:
            return None
        if (copy < 0 and not self._fog_below) or (copy >= self.copies and not self._fog_above):
            return None
        local = list(cell)
        local[self._axis] = offset
        return (copy, (local[0], local[1], local[2]))

    def _found(self, cell: Cell) -> Block | None:
        """What stands in a cell of a row with copies."""
        home = self.home(cell)
        return self._entries.get(cell) if home is None else self._blocks.get(home[1])

    def pin(self, cell: Cell) -> Pin | None:
        """The pin whose lead or outside buffer stands in ``cell``, or None."""
        home = self.home(cell)
        return None if home is None else self._pins.get(home[1])

    def copy_of(self, cell: Cell) -> int | None:
        """The copy that a cell belongs to, fog included, or None."""
        home = self.home(cell)
        return None if home is None else home[0]

    def is_real(self, cell: Cell) -> bool:
        """Whether a cell belongs to a real copy."""
        copy = self.copy_of(cell)
        return copy is not None and 0 <= copy < self.copies
