"""A canvas to paint parts on: refuses two parts in one cell, and draws wires over long ways.

Constructions paint in coordinates of their own, which may be negative; ``Canvas.layout`` moves
everything into a box that starts at the origin.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence

from synth.layout import Layout, Pin
from synth.medium import LEDGE, SOLID, WIRE, Block, Cell, Direction, Rules, Size, buffer

LONGEST = 256
"""The longest side of a box, in cells, that a layout document may hold."""


MOST_CELLS = 200_000
"""The largest box that is judged, in cells: the most that a layout document may hold."""


class Unbuildable(Exception):
    """A construction cannot make what is asked; the text says why, for a developer to read."""


class Canvas:
    """The cells painted so far, and pins.

    Args:
        rules: the rule table: how far a wire carries, and how many ticks a buffer takes.
    """

    def __init__(self, rules: Rules) -> None:
        self.rules = rules
        self.cells: dict[Cell, Block] = {}
        self.pins: list[Pin] = []

    @property
    def delay(self) -> int:
        """The ticks of the fastest buffer."""
        return self.rules.buffer_delays[0]

    def put(self, cell: Cell, block: Block) -> None:
        """Paint a part; a solid may replace a ledge, because it holds up whatever a ledge does.

        Raises:
            Unbuildable: if the cell holds something else.
        """
        old = self.cells.get(cell)
        if old is None or (old == LEDGE and block == SOLID):
            self.cells[cell] = block
        elif old != block and not (old == SOLID and block == LEDGE):
            raise Unbuildable(f"{block} on {old} at {cell}")

    def wire(self, cell: Cell) -> None:
        """Paint a wire and, unless the cell below holds something, a ledge under it."""
        self.put(cell, WIRE)
        self.put(Direction.NZ.step(cell), LEDGE)

    def restorer(self, cell: Cell, to: Direction) -> None:
        """Paint the fastest buffer, which restores the strength, and a ledge under it."""
        self.put(cell, buffer(to, self.delay))
        self.put(Direction.NZ.step(cell), LEDGE)

    def line(
        self,
        cells: Sequence[Cell],
        *,
        strength: int | None = None,
        breaks: Collection[Cell] = (),
        spare: int = 0,
    ) -> int:
        """Paint a line of wires, each linked to the next, with buffers where it is too long.

        Args:
            cells: the cells in the order in which the signal runs.
            strength: the strength of the first wire; ``reach`` if left out.
            breaks: cells in which a buffer may stand; both neighbours on the line are level.
            spare: the strength that must be left after the last wire.

        Returns:
            The least strength that the last wire can have.

        Raises:
            Unbuildable: if there is no place for a buffer where one is needed.
        """
        reach = self.rules.reach
        start = reach if strength is None else strength
        chosen = restorers([cell in breaks for cell in cells], start, reach, spare)
        left = start + 1
        for index, cell in enumerate(cells):
            if index in chosen:
                self.restorer(cell, _towards(cell, cells[index + 1]))
                left = reach + 1
            else:
                self.wire(cell)
                left -= 1
        return left

    def layout(self, *, ground: bool = False, size: Size | None = None) -> Layout:
        """The painted parts as a layout, moved to the origin.

        Args:
            ground: whether it stands on ground.
            size: the box; None takes the smallest.
        """
        held = [*self.cells, *(pin.at for pin in self.pins)]
        low = [min(cell[axis] for cell in held) for axis in range(3)]
        high = [max(cell[axis] for cell in held) for axis in range(3)]
        box = (high[0] - low[0] + 1, high[1] - low[1] + 1, high[2] - low[2] + 1)

        def home(cell: Cell) -> Cell:
            return (cell[0] - low[0], cell[1] - low[1], cell[2] - low[2])

        return Layout(
            size=box if size is None else size,
            cells={home(cell): block for cell, block in self.cells.items()},
            pins=tuple(
                Pin(pin.name, pin.role, home(pin.at), pin.face, pin.joint) for pin in self.pins
            ),
            ground=ground,
        )


def restorers(may: Sequence[bool], start: int, reach: int, spare: int = 0) -> set[int]:
    """Which cells of a line hold a restoring buffer: as few and as late as possible.

    Args:
        may: for each cell, whether a buffer may stand there. The first and the last cell are always
            wires.
        start: the strength of the first wire.
        reach: the strength of a wire in front of a buffer.
        spare: the strength that must be left after the last wire.

    Raises:
        Unbuildable: if the line cannot be kept powered.
    """
    chosen: set[int] = set()
    lit_from, strength = 0, start
    while lit_from + strength < len(may) + spare:
        # Wires have power up to here; the next has none unless a buffer stands there or before.
        last = min(lit_from + strength, len(may) - 2)
        place = next((index for index in range(last, lit_from, -1) if may[index]), None)
        if place is None or strength < 1:
            raise Unbuildable("a line is too long and has no place for a buffer")
        chosen.add(place)
        lit_from, strength = place + 1, reach
    return chosen


def _towards(cell: Cell, other: Cell) -> Direction:
    step = (other[0] - cell[0], other[1] - cell[1], other[2] - cell[2])
    for direction in Direction:
        if direction.vector == step:
            return direction
    raise Unbuildable(f"no buffer leads from {cell} to {other}")
