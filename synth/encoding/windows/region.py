"""Which fixed parts a window has to look at.

Without promises: all. With promises: the free cells, the wires that may share a net with something
in them (*touched*), and what stands so near to these that it is seen or sees. Everything else is
promised, or does not matter. Distances are the largest difference of a coordinate:

- A free cell powers a wire over a driven solid at most: a net is touched from a distance of 2.
- A device that looks at something touched or free hangs on, or has its back at, a solid or wire
  beside it: a distance of 2. Those *answer* for their promises.
- What such a device looks at is charged from a distance of 1 and driven from there; wires that
  are not touched are promised themselves, so a distance of 4 holds everything.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from synth.encoding.geometry import Slot
from synth.encoding.windows.window import Window, surrounded
from synth.medium import AXES, Cell, Joint, Part

TOUCHES, ANSWERS, SEEN = 2, 2, 4
"""The distances, in cells."""


@dataclass(frozen=True)
class Region:
    """What a window looks at.

    Attributes:
        near: fixed cells, not empty, that are part of the formula.
        touched: wires and leads whose signals the free cells may change.
        answering: cells whose devices have to keep their promises.
        pin_places: places of pins whose goals are stated.
    """

    near: frozenset[Cell]
    touched: frozenset[Cell | Slot]
    answering: frozenset[Cell]
    pin_places: frozenset[Slot]


def region_of(window: Window) -> Region:
    """The region of a window."""
    places = frozenset(slot for slots in window.pins.values() for slot in slots)
    if window.promises is None and window.labels is None:
        everything = frozenset(window.cells)
        return Region(everything, everything | places, frozenset(), places)
    wires = {cell for cell, block in window.cells.items() if block.part is Part.WIRE}
    leads = {
        slot.face.step(slot.cell): slot
        for name, slots in window.pins.items()
        if window.spec.joint(name) is Joint.WIRE
        for slot in slots
    }
    linked = _net(window, wires | set(leads), _around(window, window.free, TOUCHES))
    core = linked | window.free
    answering = _around(window, core, ANSWERS)
    near = _around(window, core, SEEN) & set(window.cells)
    touched: set[Cell | Slot] = {cell for cell in linked if cell in wires}
    touched |= {slot for cell, slot in leads.items() if cell in linked}
    return Region(
        frozenset(near),
        frozenset(touched),
        frozenset(answering),
        frozenset(slot for slot in places if slot.cell in answering),
    )


def _net(window: Window, wires: set[Cell], seeds: set[Cell]) -> set[Cell]:
    """The wires among ``seeds`` and all that may be linked to them, directly or over others."""
    found = wires & seeds
    ahead = list(found)
    while ahead:
        x, y, z = ahead.pop()
        for dx, dy in ((1, 0), (-1, 0), (0, 1), (0, -1)):
            for dz in (-1, 0, 1):
                other = (x + dx, y + dy, z + dz)
                if other in wires and other not in found:
                    found.add(other)
                    ahead.append(other)
    return found


def _around(window: Window, cells: Iterable[Cell], distance: int) -> set[Cell]:
    """All cells up to a distance, those of the next copies of a stack brought home."""
    found = surrounded(cells, distance)
    geometry = window.question.geometry
    if geometry.axis is not None:
        index = AXES.index(geometry.axis)
        folded = set()
        for cell in found:
            moved = list(cell)
            moved[index] %= geometry.pitch
            folded.add((moved[0], moved[1], moved[2]))
        found |= folded
    return found
