"""How a search ends: with exactly one of four outcomes."""

from __future__ import annotations

from dataclasses import dataclass, field
from enum import StrEnum
from typing import Any

from synth.layout import Layout
from synth.questions.measures import measure_of
from synth.questions.statistics import Statistics
from synth.showing import Shows
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
class Outcome(Shows):
    """The result of a search.

    Attributes:
        status: found, impossible, undecided or refused.
        layout: the layout found; with *undecided* the best so far or None; with *refused* the
            layout that the simulator rejects, for the bug report.
        verdict: the simulator's verdict on ``layout``; None without a layout.
        reason: one sentence: why undecided, why refused, what was ruled out.
        claim: the claim that nothing is smaller, with measure, limits and what it rests on; empty
            if there is none.
        parts: what is known about the number of parts in the box of the layout found; empty if
            nothing is, and if parts are among the measures, which the claim covers.
        advice: for an impossible question: which limits clash, and what has an answer, one
            sentence each.
        assumed: what the search assumed because the specification left it open, one phrase each.
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
        """The first measure of the layout; None without a layout."""
        if self.layout is None or self.verdict is None:
            return None
        return measure_of(self.layout, self.verdict, self.measures[0])

    @property
    def bound(self) -> int | None:
        """The least value of the first measure that is not ruled out.

        For a smallest layout it is the layout's own. None if no value is left, or nothing is known.
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
