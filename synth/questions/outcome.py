"""What a search ends in: one of four outcomes, never two."""

from __future__ import annotations

from dataclasses import dataclass, field
from enum import StrEnum
from typing import Any

from synth.layout import Layout
from synth.questions.measures import measured
from synth.questions.statistics import Statistics
from synth.simulator.verdict import Verdict

FORMAT = "gatefit-outcome"
VERSION = 2
"""Version 2 has ``parts``."""


class Status(StrEnum):
    """The four outcomes; the values are the words that reports and documents use."""

    FOUND = "found"
    IMPOSSIBLE = "impossible"
    UNDECIDED = "undecided"
    REFUSED = "refused"

    @property
    def exit_code(self) -> int:
        """Exit code of a command that searches."""
        return {"found": 0, "impossible": 1, "undecided": 3, "refused": 4}[self.value]


@dataclass(frozen=True, slots=True)
class Outcome:
    """What came of a search.

    Attributes:
        status: found, impossible, undecided or refused.
        layout: the layout found; with *undecided* the best so far or None; with *refused* the
            layout that the simulator rejects, kept for the bug report.
        verdict: the simulator's verdict on ``layout``, or None without one.
        reason: one sentence: why undecided, why refused, what was ruled out.
        claim: what is claimed of smallness, with measure, limits and what it rests on; empty
            when nothing is.
        parts: what is known of the number of parts, in the box of the layout found; empty when
            nothing is, and where parts are among the measures, of which the claim speaks.
        advice: of an impossible question: which limits clash, and what has an answer, a
            sentence each.
        assumed: what the search assumed because the specification left it open, a sentence
            each.
        stats: counts and times of the search.
        measures: what "smallest" means; the first counts most.
    """

    status: Status
    layout: Layout | None = None
    verdict: Verdict | None = None
    reason: str = ""
    claim: str = ""
    parts: str = ""
    advice: tuple[str, ...] = ()
    assumed: tuple[str, ...] = ()
    stats: Statistics = field(default_factory=Statistics)
    measures: tuple[str, ...] = ("volume",)

    @property
    def best(self) -> int | None:
        """The first measure of the layout, or None without one."""
        if self.layout is None or self.verdict is None:
            return None
        return measured(self.layout, self.verdict.delay, self.measures[0])

    @property
    def bound(self) -> int | None:
        """The least value of the first measure that is not ruled out.

        Of a smallest layout that is its own. None where nothing is left, or nothing is known.
        """
        return self.best if self.status is Status.FOUND else self.stats.bound

    @property
    def gap(self) -> int | None:
        """How far the best layout is above the bound: 0 if it is the smallest; None if unknown."""
        best, bound = self.best, self.bound
        return None if best is None or bound is None else max(0, best - bound)

    def document(self) -> dict[str, Any]:
        """The outcome document."""
        return {
            "format": FORMAT,
            "version": VERSION,
            "status": str(self.status),
            "reason": self.reason,
            "claim": self.claim,
            "parts": self.parts,
            "advice": list(self.advice),
            "assumed": list(self.assumed),
            "layout": None if self.layout is None else self.layout.document(),
            "verdict": None if self.verdict is None else self.verdict.document(),
            "stats": self.stats.document(),
        }
