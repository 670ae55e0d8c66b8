"""How long a walk may still take, estimated from the boxes so far.

The time of a box grows about exponentially with its cells. So a line through the logarithms of the
times so far, by least squares, says what the boxes that are left may take. It is only an estimate:
a layout found on the way ends the walk sooner, and a box that is much harder than those before
makes it longer.
"""

from __future__ import annotations

import math
import time
from collections.abc import Iterable, Sequence
from itertools import takewhile

from synth.questions.box import BoxQuestion
from synth.questions.events import BoxEnded
from synth.search.walk.ledger import Ledger

LEAST_BOXES = 8
"""How many boxes have to be decided before there is an estimate."""

LEAST_S = 0.01
"""Shorter times, in seconds, are noise."""

MOST_CANDIDATES = 5_000
"""With more boxes left than this, looking at all of them would take too long."""

EVERY_S = 2.0
"""Seconds between two estimates."""


class Estimate:
    """Estimates the time that is left from the boxes so far.

    Args:
        ledger: what is known.
        candidates: the candidates in the order of the walk.
        workers: how many questions are asked at the same time.
        deadline: when the walk stops in any case, as ``time.monotonic`` gives it, or None.
    """

    def __init__(
        self,
        ledger: Ledger,
        candidates: Sequence[BoxQuestion],
        workers: int,
        deadline: float | None = None,
    ) -> None:
        self.ledger = ledger
        self.candidates = candidates if len(candidates) <= MOST_CANDIDATES else ()
        self.workers = workers
        self.deadline = deadline
        self._times: list[tuple[int, float]] = []
        self._next = 0.0

    def note(self, ended: BoxEnded) -> float | None:
        """Take note of a box; returns the seconds left when an estimate is due, else None."""
        if ended.answer not in ("impossible", "found") or ended.cube or ended.parts is not None:
            return None
        length, width, height = ended.size
        self._times.append((length * width * height, max(LEAST_S, ended.seconds)))
        now = time.monotonic()
        if now < self._next:
            return None
        self._next = now + EVERY_S
        return self.left_s(now)

    def left_s(self, now: float) -> float | None:
        """The seconds that the walk may still take; None if there is no estimate."""
        line = fitted(self._times)
        if line is None or not self.candidates:
            return None
        left = sum(expected_s(question, line) for question in self._ahead()) / self.workers
        return left if self.deadline is None else min(left, max(0.0, self.deadline - now))

    def _ahead(self) -> Iterable[BoxQuestion]:
        """The candidates about which nothing is known, up to the first with a known layout."""
        known = ((question, self.ledger.known(question)) for question in self.candidates)
        undecided = takewhile(lambda pair: pair[1] is not True, known)
        return (question for question, answer in undecided if answer is None)


def fitted(times: Sequence[tuple[int, float]]) -> tuple[float, float] | None:
    """The line through the logarithms of times by cells: (value at 0 cells, rise per cell).

    None if there are too few times. The line never falls: if larger boxes took less time, that is
    chance.
    """
    if len(times) < LEAST_BOXES or len({cells for cells, _ in times}) < 2:
        return None
    count = len(times)
    mean_cells = sum(cells for cells, _ in times) / count
    mean_log = sum(math.log(seconds) for _, seconds in times) / count
    spread = sum((cells - mean_cells) ** 2 for cells, _ in times)
    joint = sum((cells - mean_cells) * (math.log(seconds) - mean_log) for cells, seconds in times)
    slope = max(0.0, joint / spread)
    return mean_log - slope * mean_cells, slope


def expected_s(question: BoxQuestion, line: tuple[float, float]) -> float:
    """The seconds that a box may take, by a line of ``fitted``."""
    at_none, each = line
    return math.exp(min(50.0, at_none + each * question.measure("volume")))
