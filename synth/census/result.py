"""The result of a census, and its document."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from synth.encoding import ENCODING_VERSION
from synth.layout import Layout
from synth.medium_document import rules_entry
from synth.questions.box import BoxQuestion
from synth.questions.census import CensusQuestion, shown
from synth.questions.census_ledger import Found, Ledger
from synth.questions.outcome import Status
from synth.search.workers.settings import Settings
from synth.spec.classes import Columns
from synth.spec.writing import spec_document

FORMAT = "gatefit-census"
VERSION = 1


@dataclass(frozen=True, slots=True)
class Class:
    """A class of functions with a layout.

    Attributes:
        columns: what it is called: its smallest member, or what was sought.
        place: the first box, delay and most parts with a layout.
        layout: a layout there of just ``columns``.
        delay: ticks that the layout meets.
        smallest: whether each box before it is known to hold no layout of the class.
        seconds: when it was found.
    """

    columns: Columns
    place: BoxQuestion
    layout: Layout
    delay: int
    smallest: bool
    seconds: float

    def document(self) -> dict[str, Any]:
        """Its entry in the document."""
        return {
            "table": shown(self.columns),
            "size": list(self.place.size),
            "delay": self.delay,
            "smallest": self.smallest,
            "seconds": round(self.seconds, 3),
            "layout": self.layout.document(),
        }


@dataclass(frozen=True, slots=True)
class BoxCount:
    """What is known of one box: how many classes have their place there, whether it is complete.

    A box that was not looked into, because it could hold nothing new, is neither complete nor open.
    """

    candidate: BoxQuestion
    placed: int
    complete: bool
    open: bool

    def document(self) -> dict[str, Any]:
        """Its entry in the document."""
        size, delay, _ = self.candidate
        return {
            "size": list(size),
            "delay": delay,
            "placed": self.placed,
            "complete": self.complete,
        }


@dataclass(frozen=True)
class Census:
    """What a census came to.

    Attributes:
        asked: what was asked.
        status: found if it is complete, undecided, or refused.
        reason: why it is not complete; empty if it is.
        classes: the classes with a layout, in the order of their places.
        without_layout: the classes that are counted and have none in any box asked; None where
            something is open, or they are too many to list.
        boxes: what is known of each box, in order.
        seconds: in all.
        solver, seed: how it was searched.
        refused: the layout that the simulator rejects, for the report of a bug.
    """

    asked: CensusQuestion
    status: Status
    reason: str
    classes: tuple[Class, ...]
    without_layout: tuple[Columns, ...] | None
    boxes: tuple[BoxCount, ...]
    seconds: float
    solver: str
    seed: int
    refused: Layout | None = None

    @staticmethod
    def of(
        ledger: Ledger,
        *,
        status: Status,
        reason: str,
        refused: Layout | None,
        seconds: float,
        settings: Settings,
    ) -> Census:
        """What a ledger says."""
        places, smallest, still_open = ledger.places(), ledger.smallest(), set(ledger.open_boxes())
        missing = ledger.without_layout()

        def entry(columns: Columns, place: BoxQuestion) -> Class:
            found: Found = ledger.found[place][columns]
            sure = columns in smallest
            return Class(columns, place, found.layout, found.delay, sure, found.seconds)

        return Census(
            asked=ledger.asked,
            status=status,
            reason=reason,
            classes=tuple(entry(columns, place) for columns, place in places.items()),
            without_layout=None if missing is None else tuple(missing),
            boxes=tuple(
                BoxCount(
                    candidate,
                    sum(place == candidate for place in places.values()),
                    ledger.is_complete(candidate),
                    candidate in still_open,
                )
                for candidate in ledger.asked.candidates
            ),
            seconds=seconds,
            solver=settings.solver,
            seed=settings.seed,
            refused=refused,
        )

    @property
    def complete(self) -> bool:
        """Whether every function has its place, or is known to have none."""
        return self.status is Status.FOUND

    def document(self) -> dict[str, Any]:
        """The census document."""
        asked, problem = self.asked, self.asked.problem
        counted = asked.counted
        missing = self.without_layout
        return {
            "format": FORMAT,
            "version": VERSION,
            "box": None if asked.box is None else list(asked.box),
            "delay": problem.limits.delay,
            "complete": self.complete,
            "reason": self.reason,
            "minimize": list(problem.measures),
            "spec": spec_document(problem.spec),
            "rules": rules_entry(problem.rules),
            "encoding": ENCODING_VERSION,
            "sought": [shown(columns) for columns in asked.sought],
            "every_input_matters": asked.every_input_matters,
            "counted": None if counted is None else len(counted),
            "classes": [one.document() for one in self.classes],
            "without_layout": None if missing is None else [shown(one) for one in missing],
            "boxes": [box.document() for box in self.boxes],
            "seconds": round(self.seconds, 3),
            "solver": self.solver,
            "seed": self.seed,
        }
