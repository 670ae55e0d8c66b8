"""Promises: signals of fixed parts that a window keeps, so that it need not look further out.

In a layout that is right, every wire, inverter and buffer has its exact three-valued play
(section 5). The goal rests on some of it only: an output that must be 1 on whatever surely lights
it, that on what surely powers it, and so on backwards through ticks. What the goal does not rest on
may change without harm. So a promise says of a part, tick and play: *surely on* where the goal
rests on its being surely on, *not possibly on* where it rests on that, and nothing else.

A window that is asked with promises reads every fixed part outside as promised, unknown where
nothing is, and in turn has to keep the promise of every device that looks at something which the
window can change. *Why a model is right:* by induction on ticks. At tick 0 nothing is promised
that does not hold of any layout. If all promises hold up to a tick, what the window computes
with them at that tick is on the safe side, so each device it feeds keeps its promise at the next
tick; a device that sees nothing of the window looks at promised things only, and these were enough
for its promise in the old layout. The goal rests on promises. *What is lost:* layouts in which
a device outside does something else than before and all is right nevertheless. So with promises "no
model" says little, but a window costs the same in a large layout as in a small one.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from synth.encoding.geometry import Slot
from synth.medium import Cell

Place = tuple[str, Cell | Slot]
"""Family and place: a wire in a cell, a lead (``wire``) at a slot, an inverter, a buffer."""

Masks = tuple[tuple[int, int], ...]
"""For each tick the plays in which a thing is surely on, and those in which it is possibly on.

Bit ``i`` of a mask is the play of index ``i`` (rows in counting order, the neighbour last).
"""


@dataclass(frozen=True)
class Promises:
    """What the goal rests on, by place.

    Attributes:
        everywhere: the mask of all plays.
        masks: of each place; unknown at every tick where a place has no entry.
    """

    masks: Mapping[Place, Masks]
    everywhere: int

    def rests_on_nothing(self, place: Place) -> bool:
        """Whether the goal does not rest on the signal of a place at any tick."""
        masks = self.masks.get(place)
        return masks is None or len({*masks, (0, self.everywhere)}) == 1

    def moved(self, where: Mapping[Cell, Cell], slots: Mapping[Slot, Slot]) -> Promises:
        """The same promises of parts and leads that have moved; those not named are dropped."""
        found: dict[Place, Masks] = {}
        for (family, place), masks in self.masks.items():
            if isinstance(place, Slot):
                if place in slots:
                    found[family, slots[place]] = masks
            elif place in where:
                found[family, where[place]] = masks
        return Promises(found, self.everywhere)
