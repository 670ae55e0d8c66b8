"""Takes planes out of a layout that only lead signals on; every step is judged.

A plane across x or y may go where, along every line through it, what lies there is empty or the
same as beside it. Planes that may go are taken out together, and by halves where that is not right.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence

from synth.layout import Layout, Pin
from synth.medium import AXES, Cell, Part, Size

Right = Callable[[Layout], bool]


def compacted(layout: Layout, right: Right, stop: Callable[[], bool] = lambda: False) -> Layout:
    """The layout without planes that it does not need.

    Args:
        layout: a right layout.
        right: judges a layout.
        stop: asked before every judgement; true ends early.
    """
    for axis in (0, 1):
        layout = _thinned(layout, axis, _candidates(layout, axis), right, stop)
    return layout


def _thinned(
    layout: Layout, axis: int, planes: Sequence[int], right: Right, stop: Callable[[], bool]
) -> Layout:
    """Take out as many of these planes as can be, the last ones first."""
    if not planes or stop():
        return layout
    tried = without_planes(layout, axis, planes)
    if tried is not None and right(tried):
        return tried
    if len(planes) == 1:
        return layout
    half = len(planes) // 2
    # What stands beyond is taken out first, so that numbers of planes before it still hold.
    layout = _thinned(layout, axis, planes[half:], right, stop)
    return _thinned(layout, axis, planes[:half], right, stop)


def _candidates(layout: Layout, axis: int) -> list[int]:
    """Planes that lead signals on at the most, no two of them beside each other."""
    spoilt: set[int] = set()
    step = tuple(int(index == axis) for index in range(3))
    for cell, block in layout.cells.items():
        if block.part is Part.INVERTER or block.part is Part.BUFFER:
            spoilt.add(cell[axis])
            continue
        before = layout.cells.get((cell[0] - step[0], cell[1] - step[1], cell[2] - step[2]))
        after = layout.cells.get((cell[0] + step[0], cell[1] + step[1], cell[2] + step[2]))
        if block not in (before, after):
            spoilt.add(cell[axis])
    spoilt |= {pin.at[axis] for pin in layout.pins if pin.face.axis != AXES[axis]}
    found: list[int] = []
    for plane in range(layout.size[axis]):
        if plane not in spoilt and (not found or found[-1] < plane - 1):
            found.append(plane)
    return found


def without_planes(layout: Layout, axis: int, planes: Sequence[int]) -> Layout | None:
    """The layout with planes taken out; None if a pin or all of it would go."""
    gone = set(planes)
    kept = [at for at in range(layout.size[axis]) if at not in gone]
    if not kept:
        return None
    place = {at: index for index, at in enumerate(kept)}

    def moved(cell: Cell, to: int) -> Cell:
        found = list(cell)
        found[axis] = to
        return (found[0], found[1], found[2])

    size = list(layout.size)
    size[axis] = len(kept)
    pins = []
    for pin in layout.pins:
        at = pin.at[axis]
        if pin.face.axis == AXES[axis]:
            at_edge = 0 if pin.face.vector[axis] < 0 else len(kept) - 1
            pins.append(Pin(pin.name, pin.role, moved(pin.at, at_edge), pin.face, pin.joint))
        elif at in place:
            pins.append(Pin(pin.name, pin.role, moved(pin.at, place[at]), pin.face, pin.joint))
        else:
            return None
    new_size: Size = (size[0], size[1], size[2])
    return layout.replace(
        size=new_size,
        cells={
            moved(cell, place[cell[axis]]): block
            for cell, block in layout.cells.items()
            if cell[axis] in place
        },
        pins=tuple(pins),
    )
