"""How columns read the row of an input: through an inverter or directly, as it is or turned round.

A column must have power while its product's literal is off. Where the row has what the product
wants, an inverter hung on a solid under the row powers the column. Where it has the complement of
that, there are two ways:

- The row *turns* before the column: a solid ends it, an inverter on its far side begins it anew.
- The column reads the row *directly*: a buffer under the row takes its power from one solid under
  the row to another one, just above the column. That powers the column, and the row, which ends
  above the first solid and begins anew above the second one.

Either costs a tick for all that reads the row further on. The fewest of them are chosen.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass

from synth.composing.canvas import Unbuildable

TURN, DIRECT = 2, 2
"""Cells of a row that a turn takes, and a direct reading before its column."""


@dataclass(frozen=True)
class Crossing:
    """A column that reads a row.

    Attributes:
        x: where it is.
        turned: whether the row turns just behind what was read before (or at its head).
        direct: whether the column reads it directly.
    """

    x: int
    turned: bool
    direct: bool


_Way = tuple[int, tuple[Crossing, ...]]
"""How many turns and direct readings, and the crossings so far."""


def crossings(
    reads: Sequence[tuple[int, bool]], edge: int, direct: Collection[int] = ()
) -> tuple[Crossing, ...]:
    """The crossings of a row, with as few turns and direct readings as can be.

    Args:
        reads: the columns in the order of the signal: their x, and whether they want it as it is.
        edge: the x of the pin.
        direct: columns that have to read it directly.

    Raises:
        Unbuildable: if there is no room before a column.
    """
    ways: dict[bool, _Way] = {True: (0, ())}
    before = edge
    for number, (x, wanted) in enumerate(reads):
        turn = TURN + 1 if number else TURN  # The row goes on above what was read before.
        found: dict[bool, _Way] = {}
        for state, (cost, done) in ways.items():
            for turned in (False, True):
                through = (state is not turned) is not wanted
                needed = turn * turned + DIRECT * through
                if abs(x - before) < needed or (x in direct and not through):
                    continue
                way = (cost + turned + through, (*done, Crossing(x, turned, through)))
                after = state is not turned
                if after not in found or way[0] < found[after][0]:
                    found[after] = way
        ways, before = found, x
    if not ways:
        raise Unbuildable("no room for a turn before a column")
    return min(ways.values(), key=lambda way: way[0])[1]
