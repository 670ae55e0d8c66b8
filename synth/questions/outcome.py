"""What a search ends in: one of four outcomes, never two."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import Enum
from typing import Any

from synth.layout import Layout
from synth.simulator.verdict import Verdict


class Status(Enum):
    """The four outcomes; the values are the words that reports and documents use."""

    FOUND = "found"
    IMPOSSIBLE = "impossible"
    UNDECIDED = "undecided"
    REFUSED = "refused"

    def __str__(self) -> str:
        return self.value

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
        advice: of an impossible question: which limits clash, and what has an answer, a
            sentence each.
        assumed: what the search assumed because the specification left it open, a sentence
            each.
        stats: counts and times of the search (keys in ``synth.search.walk.solve``).
    """

    status: Status
    layout: Layout | None = None
    verdict: Verdict | None = None
    reason: str = ""
    claim: str = ""
    advice: tuple[str, ...] = ()
    assumed: tuple[str, ...] = ()
    stats: Mapping[str, Any] = field(default_factory=dict)
