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
from synth.search.above.along_rails import along_rails
from synth.search.above.loosening import broken, loosened
from synth.search.above.placed import Placing
from synth.search.placing.opening import chained, opened
from synth.search.placing.turns import Way, found_within, in_turns
from synth.shrinking.aim import Judged
from synth.shrinking.relay import Relay
from synth.shrinking.turns import TURN
from synth.spec import Limits

SHARE, SHARE_MOST = 1.0, 6.0
"""The share of open layouts, against all else: at first, and later or where another process has an
order of the same question. Slices that are placed in steps come sooner, and end larger.
"""

LATER_S = 150.0
"""How many processor seconds all else has had by then."""

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
    """Makes slices of open layouts, in turns with other work.

    Args:
        problem: of the slices.
        own: the limits that the user gave.
        seed: of the moves.
        deadline: on the monotonic clock.
        most: whether to have most of the time.
    """

    def __init__(
        self, problem: Problem, own: Limits, seed: int, deadline: float, *, most: bool = False
    ) -> None:
        self._problem, self._own, self._seed = problem, own, seed
        self._others_s = LATER_S if most else 0.0
        self._deadline = deadline
        self._smallest = math.inf
        self._gained: Layout | None = None
        self._least_closed = math.inf
        self._closing_s = 0.0
        self._used_s = 0.0
        rails = along_rails(problem, own, seed, deadline, lambda: self._smallest)
        self._slices = in_turns([Way(self._made()), Way(rails)])
        self._turn_ended = time.process_time()

    def note(self, layout: Layout) -> None:
        """Hear of a slice: what is much larger is of no use any more."""
        self._smallest = min(self._smallest, layout.volume)

    def turn(self) -> Layout | None:
        """A slice if one is found soon; a turn takes its share of what was done since the last."""
        began = time.process_time()
        self._others_s += began - self._turn_ended
        share = SHARE if self._others_s < LATER_S else SHARE_MOST
        found = found_within(self._slices, share * (began - self._turn_ended), self._deadline)
        self._turn_ended = time.process_time()
        self._used_s += self._turn_ended - began
        return found

    def _made(self) -> Iterator[Layout | None]:
        """A slice whenever one is found, and None after each piece of work without one."""
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
                relay = Relay(
                    problem.spec.replace(limits=loosened(problem, own, start)),
                    problem.measures,
                    self._told(placing, own),
                    deadline=self._deadline,
                    seed=self._seed,
                    rules=problem.rules,
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
        below = self._smallest * (1.0 if again else MUCH_LARGER)

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
