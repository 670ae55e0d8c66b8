"""Which cells of a draft to free, and the window that frees them."""

from __future__ import annotations

import math
import random
from collections.abc import Iterable

from synth.encoding.geometry import Slot
from synth.encoding.windows import Labels, Promises, Window
from synth.medium import AXES, LEVEL_DIRECTIONS, Cell, Size
from synth.shrinking.aim import Aim, Pinning
from synth.shrinking.draft import Draft

LONGEST_RUN = 8
"""The most free wires of a window that power one another in a row."""

ROOM = 6
"""A window at a random place chooses its cells among this many times their number."""

UNEVEN = 0.9
"""By how many cells chance moves a cell nearer or farther in a window at a random place."""


def cells_of(size: Size) -> list[Cell]:
    """Every cell of a box."""
    return [(x, y, z) for x in range(size[0]) for y in range(size[1]) for z in range(size[2])]


def nearest(draft: Draft, sources: Iterable[Cell], most: int, aim: Aim) -> frozenset[Cell]:
    """The ``most`` cells that are nearest to ``sources``; the same ones in every run.

    Among cells that are equally near, those that hold something come first. Cells that the
    specification fixes are never freed.
    """
    distance = dict.fromkeys(sources, 0)
    ahead = list(distance)
    for cell in ahead:
        if len(distance) > 6 * most and distance[cell] > 3:
            break
        x, y, z = cell
        for dx, dy, dz in ((1, 0, 0), (-1, 0, 0), (0, 1, 0), (0, -1, 0), (0, 0, 1), (0, 0, -1)):
            other = (x + dx, y + dy, z + dz)
            inside = all(0 <= at < side for at, side in zip(other, draft.size, strict=True))
            if inside and other not in distance:
                distance[other] = distance[cell] + 1
                ahead.append(other)
    order = sorted(
        (far, cell not in draft.cells, cell)
        for cell, far in distance.items()
        if cell not in aim.held
    )
    return frozenset(cell for _, _, cell in order[:most])


def around(draft: Draft, most: int, aim: Aim, generator: random.Random) -> frozenset[Cell]:
    """A window at a random place: a block of cells near some part."""
    if draft.volume <= most:
        return frozenset(cells_of(draft.size)) - aim.held
    center = generator.choice(sorted(draft.cells))
    stretch = [generator.choice((1.0, 1.0, 1.5, 2.5)) for _ in AXES]

    def far(cell: Cell) -> float:
        return (
            max(abs(at - own) * by for at, own, by in zip(cell, center, stretch, strict=True))
            + UNEVEN * generator.random()
        )

    reach, spans = 0, [range(own, own + 1) for own in center]
    while math.prod(map(len, spans)) < min(ROOM * most, draft.volume):
        reach += 1
        spans = [
            range(max(0, own - reach), min(side, own + reach + 1))
            for own, side in zip(center, draft.size, strict=True)
        ]
    close = [(x, y, z) for x in spans[0] for y in spans[1] for z in spans[2]]
    order = sorted((far(cell), cell) for cell in close if cell not in aim.held)
    return frozenset(cell for _, cell in order[:most])


def window_of(
    draft: Draft,
    free: frozenset[Cell],
    aim: Aim,
    *,
    delay: int | None = None,
    parts: int | None = None,
    elsewhere: bool = False,
    promises: Promises | None = None,
    labels: Labels | None = None,
    rows: tuple[int, ...] | None = None,
) -> Window:
    """The window of a draft with these cells free.

    A pin whose cell is free may move to other free cells, if it may move at all.

    Args:
        draft: what is fixed, and where.
        free: the free cells.
        aim: what must be kept.
        delay: the delay to meet; None takes that of the aim.
        parts: the most parts in the free cells.
        elsewhere: whether the free cells must not hold the same parts again.
        promises: the promises of the layout that the draft was made from.
        labels: the labels of the same layout.
        rows: the rows to play; None plays all.
    """
    fixed = {cell: block for cell, block in draft.cells.items() if cell not in free}
    where = {old: new for new, old in draft.origin.items() if new in fixed}
    slots = {start: draft.pins[name] for name, start in draft.starts.items()}
    return Window(
        spec=aim.spec,
        size=draft.size,
        delay=aim.delay if delay is None else delay,
        cells=fixed,
        free=free,
        pins={name: _places(draft, name, slot, free, aim) for name, slot in draft.pins.items()},
        parts=parts,
        unlike={c: draft.cells[c] for c in free if c in draft.cells} if elsewhere else None,
        promises=None if promises is None else promises.moved(where, slots),
        labels=None if labels is None else labels.moved(where, slots),
        longest_run=LONGEST_RUN,
        rows=rows,
        rules=aim.rules,
    )


def _places(
    draft: Draft, name: str, slot: Slot, free: frozenset[Cell], aim: Aim
) -> tuple[Slot, ...]:
    if aim.pinning is Pinning.FIXED or slot.cell not in free:
        return (slot,)
    faces = [slot.face] if aim.pinning is Pinning.FACE else list(LEVEL_DIRECTIONS)
    found = {slot}
    for cell in free:
        for face in faces:
            beyond = face.step(cell)
            outside = not all(0 <= at < side for at, side in zip(beyond, draft.size, strict=True))
            if outside and aim.admits_slot(name, Slot(cell, face), draft.size):
                found.add(Slot(cell, face))
    return tuple(sorted(found))
