"""Which parts meet others than before once a seam is cut out: what a window has to look at.

What lies on one line shows in the line itself, what lies beside it in the two lines
(``draft.hurt_by``). Here parts are asked one by one what they touch, diagonal links included. A
cell taken out of a row of equal parts counts as its neighbour's: the row is only shorter.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from synth.medium import ALL_DIRECTIONS, LEVEL_DIRECTIONS, Block, Cell, Direction, Part
from synth.shrinking.draft import ACTIVE, INSULATORS, Draft, Seam, line_of

Cells = Mapping[Cell, Block]


def meeting_anew(before: Draft, after: Draft, axis: int, seam: Seam) -> set[Cell]:
    """Cells of the cut draft whose parts touch others than before, with what they touch now.

    Args:
        before: the draft that was cut.
        after: what the cut made of it, with origins that name cells of ``before``.
        axis: along which it was cut.
        seam: which cell of each line went.
    """
    joined = dict(_joined(before.cells, axis, seam))
    groups: dict[Cell, list[Cell]] = {}
    for gone, neighbour in joined.items():
        groups.setdefault(neighbour, []).append(gone)
    now = {old: new for new, old in after.origin.items()}
    found: set[Cell] = set()
    for cell, block in after.cells.items():
        if block.part not in ACTIVE or not _is_near(cell, axis, seam):
            continue
        own = after.origin[cell]
        group = [own, *groups.get(own, ())]
        touched = {other for one in group for other in touching(before.cells, one)}
        were = {joined.get(other, other) for other in touched} - set(group)
        are = {after.origin[other] for other in touching(after.cells, cell)}
        if were != are:
            found.add(cell)
            found.update(now[other] for other in were ^ are if other in now)
    return found


def _is_near(cell: Cell, axis: int, seam: Seam) -> bool:
    """Whether a cell of the cut draft lies so near the seam that what it touches may be other."""
    (a, b), at = line_of(cell, axis), cell[axis]
    lines = ((a + da, b + db) for da in (-1, 0, 1) for db in (-1, 0, 1))
    places = [seam[line] for line in lines if line in seam]
    return min(places) - 2 <= at <= max(places) + 1


def _joined(cells: Cells, axis: int, seam: Seam) -> Iterator[tuple[Cell, Cell]]:
    """Each cell that went out of a row of equal parts, with the neighbour that it counts as."""
    step = [0, 0, 0]
    step[axis] = 1
    for cell, block in cells.items():
        if cell[axis] != seam[line_of(cell, axis)] or block.part is Part.INVERTER:
            continue
        x, y, z = cell
        dx, dy, dz = step
        for other in ((x - dx, y - dy, z - dz), (x + dx, y + dy, z + dz)):
            if cells.get(other) == block:
                yield cell, other
                break


def touching(cells: Cells, cell: Cell) -> Iterator[Cell]:
    """The parts other than insulators beside, above and below a part, and the wires that a wire is
    linked to over a step.
    """
    for direction in ALL_DIRECTIONS:
        other = direction.step(cell)
        block = cells.get(other)
        if block is not None and block.part not in INSULATORS:
            yield other
    if cells[cell].part is not Part.WIRE:
        return
    covered = _is(cells, Direction.PZ.step(cell), Part.SOLID)
    for direction in LEVEL_DIRECTIONS:
        beside = direction.step(cell)
        above, below = Direction.PZ.step(beside), Direction.NZ.step(beside)
        if not covered and _is(cells, above, Part.WIRE):
            yield above
        if _is(cells, below, Part.WIRE) and not _is(cells, beside, Part.SOLID):
            yield below


def _is(cells: Cells, cell: Cell, part: Part) -> bool:
    block = cells.get(cell)
    return block is not None and block.part is part
