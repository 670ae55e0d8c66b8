"""What a census knows: layouts found, boxes that are complete, and what follows for each class."""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import cached_property, reduce

from synth.layout import Layout
from synth.questions.box import BoxQuestion
from synth.questions.census import CensusQuestion
from synth.questions.cubes import Cube
from synth.spec.classes import Columns


@dataclass(frozen=True, slots=True)
class Found:
    """A layout of a class in a box.

    Attributes:
        columns: what the class is called, which the layout computes.
        layout: the layout; the simulator passes it.
        delay: ticks that it meets.
        seconds: from the beginning of the census, or of the one that it went on from.
    """

    columns: Columns
    layout: Layout
    delay: int
    seconds: float


@dataclass(frozen=True, slots=True)
class Complete:
    """A box, or a cube of it, in which nothing is left but what it was not asked about.

    Attributes:
        without: the classes that were forbidden from the start; those found there come on top.
        seconds: processor time of the solver.
    """

    without: tuple[Columns, ...]
    seconds: float

    def and_also(self, other: Complete) -> Complete:
        """What this and another part of the same box say of both together."""
        without = tuple(dict.fromkeys((*self.without, *other.without)))
        return Complete(without, self.seconds + other.seconds)


@dataclass
class Ledger:
    """What is known of each box of a census; boxes of other limits may be among them.

    Attributes:
        asked: what the census asks.
        found: the layouts of each box, by class.
        complete: the boxes that are complete as a whole.
        cubes: of each box the cubes that are complete; if all are, so is the box.
        refuted: the classes of each box that are known to have no layout there, from elsewhere.
    """

    asked: CensusQuestion
    found: dict[BoxQuestion, dict[Columns, Found]] = field(default_factory=dict)
    complete: dict[BoxQuestion, Complete] = field(default_factory=dict)
    cubes: dict[BoxQuestion, dict[Cube, Complete]] = field(default_factory=dict)
    refuted: dict[BoxQuestion, set[Columns]] = field(default_factory=dict)

    @cached_property
    def order(self) -> dict[BoxQuestion, int]:
        """The number of each box, in order."""
        return {candidate: number for number, candidate in enumerate(self.asked.candidates)}

    def note_found(self, candidate: BoxQuestion, found: Found) -> None:
        """Keep a layout; the first of a class in a box stays."""
        self.found.setdefault(candidate, {}).setdefault(found.columns, found)

    def note_complete(
        self, candidate: BoxQuestion, complete: Complete, cube: Cube | None = None
    ) -> None:
        """Keep that a box is complete, or a cube of it."""
        if cube is None:
            self.complete[candidate] = complete
        else:
            self.cubes.setdefault(candidate, {})[cube] = complete

    def note_refuted(self, candidate: BoxQuestion, columns: Columns) -> None:
        """Keep that a box holds no layout of a class, as somebody else found out."""
        self.refuted.setdefault(candidate, set()).add(columns)

    def places(self) -> dict[Columns, BoxQuestion]:
        """The first box with a layout, of every class that has one."""
        placed: dict[Columns, BoxQuestion] = {}
        for candidate in self.asked.candidates:
            for columns in self.found.get(candidate, {}):
                placed.setdefault(columns, candidate)
        return placed

    def known_before(self, candidate: BoxQuestion) -> list[Columns]:
        """The classes with a layout in a box before this one, in order."""
        limit = self.order[candidate]
        return [one for one, place in self.places().items() if self.order[place] < limit]

    def forbidden_in(self, candidate: BoxQuestion) -> tuple[Columns, ...]:
        """The classes that a box need not be asked about: found before or there, or refuted."""
        here = self.found.get(candidate, {})
        refuted = sorted(self.refuted.get(candidate, ()))
        return tuple(dict.fromkeys([*self.known_before(candidate), *here, *refuted]))

    def completed(self, candidate: BoxQuestion) -> Complete | None:
        """What is known of a box that is complete, as a whole or by all its cubes; else None."""
        done = self.cubes_done(candidate)
        if done and done.keys() == set(self.asked.cubes_of(candidate)):
            return reduce(Complete.and_also, done.values())
        return self.complete.get(candidate)

    def cubes_done(self, candidate: BoxQuestion) -> dict[Cube, Complete]:
        """The cubes of a box that were found to hold nothing new (see ``is_complete``)."""
        known = self.cubes.get(candidate)
        if known is None:
            return {}
        here = set(self.forbidden_in(candidate))
        return {cube: found for cube, found in known.items() if here.issuperset(found.without)}

    def is_complete(self, candidate: BoxQuestion) -> bool:
        """Whether a box was found to hold nothing new: no class but those found there or before it.

        A box may have been asked about without a class that, under other limits, came before it.
        """
        complete = self.completed(candidate)
        return complete is not None and set(complete.without) <= set(self.forbidden_in(candidate))

    def open_boxes(self) -> list[BoxQuestion]:
        """The boxes that have to be complete, and are not, in order.

        A box need not be if it is known of each class that is counted.
        """
        known: set[Columns] = set()
        still_open = []
        for candidate in self.order:
            known.update(self.found.get(candidate, ()))
            here = known | self.refuted.get(candidate, set())
            complete = self.completed(candidate)
            done = complete is not None and here.issuperset(complete.without)
            needless = self._counted is not None and here.issuperset(self._counted)
            if not done and not needless:
                still_open.append(candidate)
        return still_open

    @cached_property
    def _counted(self) -> frozenset[Columns] | None:
        counted = self.asked.counted
        return None if counted is None else frozenset(counted)

    def smallest(self) -> frozenset[Columns]:
        """The classes whose place is certain: each box before it is complete."""
        first_open = min((self.order[one] for one in self.open_boxes()), default=len(self.order))
        return frozenset(
            columns for columns, place in self.places().items() if self.order[place] <= first_open
        )

    def without_layout(self) -> list[Columns] | None:
        """The classes that are counted and have no layout, where all boxes are complete.

        None if the classes are too many to list, or something is open.
        """
        if self.asked.counted is None or self.open_boxes():
            return None
        placed = self.places()
        return [columns for columns in self.asked.counted if columns not in placed]
