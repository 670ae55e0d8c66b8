"""Slices of a chain from above by way of layouts whose chain is open (``placing.opening``).

An open layout is placed and shrunk like any other, and closed at its end whenever a slice that is
smaller than those before may come of it. That takes some seconds.
"""

from __future__ import annotations

import math
import time
from collections.abc import Callable, Iterator

from synth.layout import Layout
from synth.medium import Size
from synth.questions.measures import keeps
from synth.questions.problem import Problem
from synth.search.above.loosening import broken, relay_for
from synth.search.above.placed import Placing
from synth.search.placing.opening import chained, opened
from synth.shrinking.aim import Judged
from synth.shrinking.relay import Relay
from synth.shrinking.turns import TURN
from synth.spec import Limits

SHARE_CLOSING = 0.25
"""The share of closing layouts that are as large as one closed before: only smaller slices than
the smallest are looked for then.
"""

MUCH_LARGER = 1.3
"""How many times as large as the smallest slice one that is closed may be: shrunk it may become
smaller, for it no longer has to stack across the chain.
"""

PLACING_S = 2.0
"""Processor seconds of placing at a time while there is nothing to shrink."""


class Opened:
    """Makes slices of open layouts.

    Args:
        problem: of the slices.
        own: the limits that the user gave.
        seed: of the moves.
        deadline: on the monotonic clock.
        smallest: the volume of the smallest slice known.
    """

    def __init__(
        self,
        problem: Problem,
        own: Limits,
        seed: int,
        deadline: float,
        smallest: Callable[[], float],
    ) -> None:
        self._problem, self._own, self._seed = problem, own, seed
        self._deadline = deadline
        self._smallest = smallest
        self._gained: Layout | None = None
        self._least_closed = math.inf
        self._closing_s = 0.0
        self._used_s = 0.0

    def tries(self) -> Iterator[Layout | None]:
        """A slice whenever one is found, and None after each piece of work without one."""
        made = self._made()
        while True:
            began = time.process_time()
            try:
                found = next(made)
            except StopIteration:
                return
            self._used_s += time.process_time() - began
            yield found

    def _made(self) -> Iterator[Layout | None]:
        made = opened(self._problem, self._own)
        if made is None:
            return
        problem, own = made
        ticks = problem.limits.delay or 0
        placing = Placing(problem, own, self._seed, self._deadline)
        relay: Relay | None = None
        shrunk_s = 0.0
        while True:
            idle = relay is None or not relay.loops
            if idle and placing.is_over:
                return
            start = placing.turn(PLACING_S if idle else shrunk_s * placing.share)
            yield None
            if start is not None and relay is None:
                relay = relay_for(
                    start,
                    problem,
                    own,
                    self._told(placing, own),
                    deadline=self._deadline,
                    seed=self._seed,
                    most_effort=TURN,
                )
            if relay is None:
                continue
            if start is not None:
                relay.add(start)
            yield from self._closed(ticks)
            began = time.process_time()
            relay.take_turns()
            shrunk_s = time.process_time() - began
            yield None
            yield from self._closed(ticks)

    def _told(self, placing: Placing, own: Limits) -> Callable[[Judged], None]:
        """What takes up open layouts: the last that is of use is closed."""

        def told(judged: Judged) -> None:
            if keeps(judged.layout, judged.verdict.delay, own):
                placing.note(judged.layout)
                self._gained = judged.layout

        return told

    def _closed(self, ticks: int) -> Iterator[Layout | None]:
        """The open layout gained last as a slice, if one of use may come of it."""
        layout, self._gained = self._gained, None
        if layout is None or layout.volume > self._least_closed:
            return
        again = layout.volume == self._least_closed
        if again and self._closing_s > SHARE_CLOSING * self._used_s:
            return
        self._least_closed = layout.volume
        below = self._smallest() * (1.0 if again else MUCH_LARGER)

        def fits(size: Size) -> bool:
            return not broken(size, self._own) and math.prod(size) < below

        tries = chained(layout, self._problem, self._own, fits, ticks)
        while True:
            began = time.process_time()
            try:
                next(tries)
            except StopIteration as end:
                if end.value is not None:
                    yield end.value
                return
            self._closing_s += time.process_time() - began
            yield None
