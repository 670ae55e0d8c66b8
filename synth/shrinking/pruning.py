"""Removes, by the simulator alone, parts that are not needed and slices that hold only such."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Sequence

from synth.encoding.windows import promises_of
from synth.layout import Layout
from synth.medium import Cell, Direction, Part
from synth.shrinking.aim import HUGE, Aim, Judged
from synth.shrinking.draft import Draft, cut, line_hurts, lines_of
from synth.shrinking.netlist import Netlist
from synth.shrinking.seams import straight


def pruned(judged: Judged, aim: Aim, cells: Iterable[Cell] | None = None) -> Judged:
    """The layout without parts that it does not need.

    Removals are tried in halves, many at once, then fewer, from the top down, so that a support is
    tried after the parts on it. A removal counts only if the layout stays right and as good.

    Args:
        judged: the layout.
        aim: what must be kept.
        cells: where to look; None means everywhere.
    """
    wanted = (
        judged.layout.cells.keys() if cells is None else set(cells) & judged.layout.cells.keys()
    )
    order = sorted(wanted - aim.held, key=lambda cell: (-cell[2], cell))
    return _without(judged, aim, order)


def idle(judged: Judged, aim: Aim) -> frozenset[Cell]:
    """Cells whose part seems not to be needed, by the netlist or what the encoding says.

    In a large layout there is no time to try every part. The guess may be wrong in either
    direction; the simulator judges every removal.
    """
    layout = judged.layout
    netlist = Netlist.of(layout, aim.rules)
    if netlist is not None:
        found = netlist.idle()
    else:
        resting = promises_of(layout, aim.spec, aim.ticks(judged), rules=aim.rules)
        found = {
            cell
            for cell, block in layout.cells.items()
            if block.part in (Part.WIRE, Part.INVERTER, Part.BUFFER)
            and resting.rests_on_nothing((str(block.part), cell))
        }
    for cell, block in layout.cells.items():
        above = Direction.PZ.step(cell)
        if block.part in (Part.CLEAR, Part.LEDGE) and layout.cells.keys().isdisjoint(
            {above} - found
        ):
            found.add(cell)
    return frozenset(found)


def unburdened(layout: Layout, cells: Iterable[Cell]) -> frozenset[Cell]:
    """Those of some cells that hold a solid which bears nothing and hosts no inverter."""
    found = set()
    for cell in cells:
        block = layout.cells.get(cell)
        if block is None or block.part is not Part.SOLID:
            continue
        others = ((to, layout.cells.get(to.step(cell))) for to in Direction)
        if not any(
            other is not None
            and (
                (to is Direction.PZ and other.part in (Part.WIRE, Part.BUFFER))
                or (other.part is Part.INVERTER and other.facing is to.opposite)
            )
            for to, other in others
        ):
            found.add(cell)
    return frozenset(found)


def _without(judged: Judged, aim: Aim, order: Sequence[Cell]) -> Judged:
    if not order:
        return judged
    found = aim.judge(judged.layout.with_cells(dict.fromkeys(order)))
    if found is not None and found.score <= judged.score:
        return found
    if len(order) == 1:
        return judged
    half = len(order) // 2
    return _without(_without(judged, aim, order[:half]), aim, order[half:])


MOST_HURT = 6
"""Most lines that a slice of a huge layout may break if the simulator is to try without it."""

MOST_AT_ONCE = 3
"""Most slices that are tried at once where no large part of the box can be idle."""


def sliced(judged: Judged, aim: Aim, near: Collection[Cell] | None = None) -> Iterator[Judged]:
    """Better and better layouts by deleting slices, first in halves of the box, then one by one.

    Slices that cannot go alone may go together: neighbours are tried two and three at a time.

    Args:
        judged: the layout.
        aim: what must be kept.
        near: cells in which something has changed: a few slices at once are tried, and only such
            as go through these; None: halves of the box are tried, and so on, everywhere.
    """
    if not aim.may_resize:
        return
    again = True
    while again:
        again = False
        for axis in (1, 0, 2):
            changed = None
            if near is not None:
                places = [cell[axis] for cell in near]
                changed = range(min(places), max(places) + 1)
            for found in _along(judged, aim, axis, changed):
                judged, again = found, True
                yield judged


def _along(judged: Judged, aim: Aim, axis: int, changed: range | None) -> Iterator[Judged]:
    count = judged.layout.size[axis] // 2
    if changed is not None:
        count = 1 if judged.layout.volume >= HUGE else min(count, MOST_AT_ONCE)
    while count:
        at, first = judged.layout.size[axis] - count, 0
        if changed is not None:
            at, first = min(at, changed.stop - 1), changed.start - count + 1
        while at >= max(0, first):
            found = None
            if changed is None or _hurts_little(judged.layout, axis, at):
                found = _less(judged, aim, axis, at, count)
            if found is not None:
                judged = found
                yield judged
            at -= max(1, count // 2) if found is None else count
        count = count // 2 if count > 4 else count - 1


def _hurts_little(layout: Layout, axis: int, at: int) -> bool:
    """Whether a slice may go without a window: little is broken, or the layout is small."""
    if layout.volume < HUGE:
        return True
    lines = (line_hurts(layout.cells, axis, line, at) for line in lines_of(layout.size, axis))
    return sum(lines) <= MOST_HURT


def _less(judged: Judged, aim: Aim, axis: int, at: int, count: int) -> Judged | None:
    """The layout without ``count`` slices from ``at`` on, if that is right and better."""
    draft: Draft | None = Draft.of(judged.layout)
    for _ in range(count):
        if draft is None or draft.size[axis] <= 1 or at >= draft.size[axis]:
            return None
        draft = cut(draft, axis, straight(draft, axis, at), aim)
    if draft is None:
        return None
    found = aim.judge(draft.layout(aim, judged.layout))
    return found if found is not None and found.score < judged.score else None
