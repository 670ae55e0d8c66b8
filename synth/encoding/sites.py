"""Where the rules of both rails apply: each solid, inverter and buffer, with what it depends on.

What a rule looks at follows from the box alone. It is found once, as literals of what is there and
as numbers of what is on (``places``), and read by ``surely`` and ``possibly`` at every instant.
"""

from __future__ import annotations

from collections.abc import Mapping
from functools import cached_property
from typing import NamedTuple

from synth.encoding import causes
from synth.encoding.formula import FALSE
from synth.encoding.geometry import Slot
from synth.encoding.places import Places, somewhere
from synth.encoding.statics import Statics
from synth.medium import HOST_DIRECTIONS, LEVEL_DIRECTIONS, Cell


class Driven(NamedTuple):
    """A solid that may be driven: it driven, a solid there, and what drives it."""

    driven: int
    solid: int
    drivers: list[int]


class Hosted(NamedTuple):
    """Inverters that may be in a cell: one on, one there, and of each way to hang: that it hangs
    so, and its host charged on the other rail."""

    on: int
    there: int
    hosts: list[tuple[int, int]]


class Backed(NamedTuple):
    """A buffer that may be somewhere: its cell, it on, it there, and what its back sees."""

    cell: Cell
    on: int
    there: int
    backs: list[int]


class Sites:
    """The sites of one rail.

    Args:
        statics: what may be where.
        places: the numbers of both rails.
        rail: the rail whose rules are stated.
        other: the other one: an inverter is on by what the other rail says of its host.
    """

    def __init__(
        self, statics: Statics, places: Mapping[str, Places], rail: str, other: str
    ) -> None:
        self.statics = statics
        self.places = places[rail]
        self.others = places[other]

    @cached_property
    def driven(self) -> list[Driven]:
        """Every cell as a solid."""
        return [
            Driven(
                self.places.power("driven", cell),
                self.statics.solid(cell),
                somewhere(causes.drivers(self.places, cell)),
            )
            for cell in self.statics.cells
        ]

    @cached_property
    def hosted(self) -> list[Hosted]:
        """Every cell as that of an inverter."""
        return [
            Hosted(
                self.places.power("inverter", cell),
                self.statics.any_inverter(cell),
                [
                    (
                        self.statics.inverter(cell, way),
                        self.others.power("charged", way.step(cell)),
                    )
                    for way in HOST_DIRECTIONS
                ],
            )
            for cell in self.statics.cells
        ]

    @cached_property
    def backed(self) -> list[Backed]:
        """Every buffer that may be there."""
        found = []
        for cell in self.statics.cells:
            for to in LEVEL_DIRECTIONS:
                there = self.statics.buffer(cell, to)
                if there != FALSE:
                    backs = somewhere(causes.seen_at_back(self.places, Slot(cell, to)))
                    found.append(Backed(cell, self.places.buffer(cell, to), there, backs))
        return found
