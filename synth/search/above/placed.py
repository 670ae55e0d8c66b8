"""Placed starts for shrinking: how much of the time placing has, and what is still of use."""

from __future__ import annotations

import math
import time
from collections.abc import Iterator
from dataclasses import replace

from synth.layout import Layout
from synth.questions.problem import Problem
from synth.search.placing.starts import PlacedStarts
from synth.search.placing.stricter import stricter
from synth.search.placing.turns import found_within
from synth.spec import Limits
from synth.spec.spec import MAX_DELAY

MUCH_LARGER_PLACED = 2
"""How many times as large as the best a placed start may be. Most of what it has too much goes at
once: of eleven starts for parity of three all lost a fifth to a half of their volume within six
seconds, and one of the largest ended as one of the smallest.
"""

SHARES_MET = (1.0, 0.5)
"""The share of placing, against shrinking, once some layout keeps the delay asked: in its first
round and after that. Before that both have as much.
"""

FAR_LARGER = 2
"""A layout that is more than so many times as large as the boxes placed in has little use: placing
has a larger share of the time then, and a slice of a chain counts as none. Nor has a construction
that is so many times as large as the best.
"""

SHARES_FAR = (3.0, 1.0)
"""The share of placing, against shrinking, while the best is far larger, or a stricter question has
come to nothing yet; otherwise as above.
"""

SHARE_WHOLE = 1.5
"""The share of placing, against shrinking, once halves that were asked whole have made a start:
further ones are worth more than shrinking one for long.
"""

SHARE_LATE = 0.25
"""The share of placing beside a start that is too slow, of a function that cannot be cut: whole
networks are seldom placed. Exactly two of three, free, within 2 ticks, had 140 cells after 27 s of
shrinking what needs 3 ticks; placing had found nothing after a minute.
"""

LATER = 2
"""By how many ticks a slower placed start is slower than is asked."""

MANY_TRIES = 100
"""Tries after which slower starts are looked for as well, as long as nothing keeps the delay."""


class Placing:
    """Looks for placed starts in turns; after many tries without one also for slower ones.

    Args:
        problem: what is asked.
        own: the limits that the user gave.
        seed: of the solver's order.
        deadline: on the monotonic clock.
        late: whether what there is to shrink is slower than is asked.

    Attributes:
        starts: makes those that are as fast as is asked.
        late: makes slower ones.
        deadline: on the monotonic clock.
        is_over: whether nothing is left to try.
    """

    def __init__(
        self, problem: Problem, own: Limits, seed: int, deadline: float, *, late: bool = False
    ) -> None:
        assert problem.limits.delay is not None
        self.starts = PlacedStarts(problem, own, seed)
        slower = min(problem.limits.delay + LATER, MAX_DELAY)
        later = problem.under(replace(problem.limits, delay=slower))
        loose = own if own.delay is None or problem.spec.chain else replace(own, delay=slower)
        # Where the limit on the delay is wide, or only assumed, both would place the same.
        differs = stricter(problem, own) != stricter(later, loose)
        self.late = PlacedStarts(later, loose, seed, also_stricter=differs)
        self.deadline = deadline
        self.is_over = False
        self._tries = self._both()
        self._counts_volume = problem.measures[0] == "volume"
        self._smallest: int | None = None
        self._is_unlikely = late and not self.starts.has_cuts
        self._turn_began = time.process_time()

    def note(self, layout: Layout) -> None:
        """Hear of a layout that keeps the delay asked: what is much larger is no use any more."""
        self._smallest = min(layout.volume, self._smallest or layout.volume)
        if self._counts_volume:
            most = MUCH_LARGER_PLACED * layout.volume
            self.starts.most = min(most, self.starts.most or most)

    def is_use(self, start: Layout) -> bool:
        """Whether a start is not far larger than the best that keeps the delay asked."""
        if self._smallest is None or not self._counts_volume:
            return True
        return start.volume <= FAR_LARGER * self._smallest

    def counts_as_none(self, start: Layout) -> bool:
        """Whether a start is a slice of a chain, and far larger than one that is placed."""
        return bool(self.starts.problem.spec.chain) and self._far(start.volume)

    def _far(self, volume: int) -> bool:
        """Whether that is so large that a placed start is worth more than shrinking it."""
        return volume > FAR_LARGER * self.starts.largest > 0

    @property
    def _is_far(self) -> bool:
        """Whether the best is that large."""
        return self._smallest is not None and self._far(self._smallest)

    @property
    def _met(self) -> bool:
        """Whether some layout of use keeps the delay asked."""
        chained = bool(self.starts.problem.spec.chain)
        return self._smallest is not None and not (chained and self._is_far)

    @property
    def share(self) -> float:
        """The share of placing, against shrinking."""
        if not self._met:
            return SHARE_LATE if self._is_unlikely else 1.0
        if self.starts.whole:
            return SHARE_WHOLE
        far = self._is_far or self.starts.awaits_stricter
        shares = SHARES_FAR if far else SHARES_MET
        return shares[min(self.starts.rounds, 1)]

    def first(self) -> Layout | None:
        """A start; for nothing else is there any use until there is one."""
        return self._within(math.inf)

    def turn(self, seconds: float | None = None) -> Layout | None:
        """A start if one is found soon; a turn lasts as long as what was done since the last one,
        or a part of that once some layout keeps the delay. Processor time counts: a busy machine
        places as much, for its shrinking.
        """
        if seconds is None:
            seconds = (time.process_time() - self._turn_began) * self.share
        found = self._within(seconds)
        self.resume()
        return found

    def resume(self) -> None:
        """Begin anew to count what is done since the last turn."""
        self._turn_began = time.process_time()

    def _both(self) -> Iterator[Layout | None]:
        late = self.late.tries()
        for number, found in enumerate(self.starts.tries()):
            yield found
            if number >= MANY_TRIES and not self._met:
                yield next(late, None)
        if not self._met:
            for found in late:
                yield found
                if self._met:
                    break
        self.is_over = True

    def _within(self, seconds: float) -> Layout | None:
        return found_within(self._tries, seconds, self.deadline)
