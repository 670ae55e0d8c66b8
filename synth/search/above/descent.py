"""A child process that shrinks layouts of one question and tells of every gain."""

from __future__ import annotations

import math
import os
import queue
import threading
import time
from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import IO

from synth.composing import compose
from synth.composing.constructions import CONSTRUCTIONS
from synth.layout import Layout
from synth.medium import Size
from synth.questions.box import BoxQuestion
from synth.questions.measures import LIMITED, keeps, measured
from synth.questions.problem import Problem
from synth.questions.room import SPACE
from synth.search.placing.starts import PlacedStarts
from synth.search.workers.child import receive, send, served
from synth.shrinking.aim import Judged
from synth.shrinking.relay import Relay
from synth.spec import Limits

MUCH_LARGER = 1.05
"""By how much a start must be larger than another one that is as quick to be left out."""

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
"""The share of placing, against shrinking, while the best is far larger; otherwise as above."""

SHARE_WHOLE = 1.5
"""The share of placing, against shrinking, once halves that were asked whole have made a start:
further ones are worth more than shrinking one for long.
"""

SHARE_LATE = 0.25
"""The share of placing beside a start that is too slow, of a function that cannot be cut: whole
networks are seldom placed. Exactly two of three, free, within 2 ticks, had 140 cells after 27 s of
shrinking what needs 3 ticks; placing had found nothing after a minute.
"""

PLACED_FIRST_S = 30.0
"""Processor seconds that placing gets before anything is shrunk, where all constructions are too
slow.
"""

SLICE_FIRST_S = 120.0
"""The same where the start is a far larger slice of a chain."""

LATER = 2
"""By how many ticks a slower placed start is slower than is asked."""

MANY_TRIES = 100
"""Tries after which slower starts are looked for as well, as long as nothing keeps the delay."""

COMPOSING_S = 1.0
"""Seconds that each construction may take for a further start."""


@dataclass(frozen=True)
class Descent:
    """An order to shrink a layout.

    Attributes:
        problem: what a layout must do, with the limits in force.
        own: the limits that the user gave; those that were assumed may be passed over.
        start: the first layout to shrink, or None; further ones may follow.
        time_limit_s: seconds.
        seed: of the moves.
        late: whether the start is slower than is asked, and shrinking has to make it quicker.
    """

    problem: Problem
    own: Limits
    start: Layout | None
    time_limit_s: float
    seed: int
    late: bool = False


def loosened(problem: Problem, own: Limits, start: Layout) -> Limits:
    """The limits in force, those that were only assumed widened to what a start has."""
    wider = {}
    for name in LIMITED:
        asked = getattr(problem.limits, name)
        if asked is None or name == "delay" or getattr(own, name) is not None:
            continue
        value = measured(start, None, name)
        if value is not None and value > asked:
            wider[name] = value
    return replace(problem.limits, **wider)


def other_starts(problem: Problem, own: Limits) -> list[Layout]:
    """What each construction makes in a box of any size, the quickest if it is too slow.

    Shrunk, they may keep limits that no construction does. What is much larger than another, no
    quicker, and keeps no more of the user's own limits is left out.
    """
    delay = problem.limits.delay
    spec = problem.spec
    found: dict[tuple[Size, int], Layout] = {}
    if spec.empty or spec.fixed:
        return []
    for construction in CONSTRUCTIONS:
        made = compose(
            spec.replace(limits=Limits(delay=delay, link_delay=problem.limits.link_delay)),
            measures=problem.measures,
            rules=problem.rules,
            time_limit_s=COMPOSING_S,
            constructions=(construction,),
        )
        attempt = made.best or made.nearest
        ticks = None if attempt is None else attempt.measure("delay")
        if attempt is not None and attempt.layout is not None and ticks is not None:
            found.setdefault((attempt.layout.size, ticks), attempt.layout)
    return [
        layout
        for (_, ticks), layout in found.items()
        if not any(
            layout.volume > MUCH_LARGER * other.volume
            and ticks >= its
            and broken(other, own) <= broken(layout, own)
            for (_, its), other in found.items()
        )
    ]


def broken(layout: Layout, own: Limits) -> set[str]:
    """The limits on a layout's box that it does not keep."""
    box = BoxQuestion(layout.size, 0)
    asked = {name: getattr(own, name) for name in SPACE}
    return {name for name, most in asked.items() if most is not None and box.measure(name) > most}


class Placing:
    """Looks for placed starts in turns; after many tries without one also for slower ones.

    Attributes:
        starts: makes those that are as fast as is asked.
        late: makes slower ones.
        deadline: on the monotonic clock.
    """

    def __init__(self, order: Descent, deadline: float) -> None:
        problem = order.problem
        assert problem.limits.delay is not None
        slower = replace(problem.limits, delay=problem.limits.delay + LATER)
        self.starts = PlacedStarts(problem, order.own, order.seed)
        self.late = PlacedStarts(problem.under(slower), order.own, order.seed)
        self.deadline = deadline
        self._tries = self._both()
        self._counts_volume = order.problem.measures[0] == "volume"
        self._smallest: int | None = None
        self._is_unlikely = order.late and not self.starts.has_cuts
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
        shares = SHARES_FAR if self._is_far else SHARES_MET
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
        self._turn_began = time.process_time()
        return found

    def _both(self) -> Iterator[Layout | None]:
        late = self.late.tries()
        for number, found in enumerate(self.starts.tries()):
            yield found
            if number >= MANY_TRIES and not self._met:
                yield next(late, None)
        while not self._met:
            try:
                yield next(late)
            except StopIteration:
                return

    def _within(self, seconds: float) -> Layout | None:
        until = time.process_time() + seconds
        while time.process_time() < until and time.monotonic() < self.deadline:
            try:
                found = next(self._tries)
            except StopIteration:
                return None
            if found is not None:
                return found
        return None


def main() -> None:
    """Serve one order, and end."""
    with served() as (source, output):
        order: Descent = receive(source)
        arrivals: queue.SimpleQueue[Layout] = queue.SimpleQueue()
        threading.Thread(target=_listen, args=(source, arrivals), daemon=True).start()
        _descend(order, arrivals, output)
        send(output, None)
        # At once: the thread still reads, and the interpreter could not take its input from it.
        os._exit(0)


def _listen(source: IO[bytes], arrivals: queue.SimpleQueue[Layout]) -> None:
    """Queue further starts until the other side is gone."""
    while True:
        try:
            arrivals.put(receive(source))
        except (EOFError, OSError):
            return


def _descend(order: Descent, arrivals: queue.SimpleQueue[Layout], output: IO[bytes]) -> None:
    """Shrink one start after the other, in turns, and send every layout that can be used."""
    problem, own = order.problem, order.own
    deadline = time.monotonic() + order.time_limit_s
    placing = Placing(order, deadline)
    sent: dict[bool, tuple[int, ...]] = {}

    def told(judged: Judged) -> None:
        layout, delay = judged.layout, judged.verdict.delay
        if not keeps(layout, delay, own):
            return
        placing.note(layout)
        answers = keeps(layout, delay, problem.limits)
        names = (*problem.measures, "volume", "parts")
        score = tuple(measured(layout, delay, name) or 0 for name in names)
        if answers not in sent or score < sent[answers]:
            sent[answers] = score
            if layout != order.start:  # The other side has that one already.
                send(output, layout)

    firsts = [] if order.start is None else [order.start]
    others = other_starts(problem, own)
    if order.late and placing.starts.has_cuts:
        # What can be cut is placed, and quick enough, sooner than what is slow becomes quick.
        firsts, others = [], [*firsts, *others]
    if not firsts:
        most_s = min(PLACED_FIRST_S, order.time_limit_s / 2)
        placed = placing.turn(most_s) if others else placing.first()
        if placed is not None:
            firsts = [placed]
        else:
            firsts, others = others, []
    elif placing.counts_as_none(firsts[0]):
        placed = placing.turn(min(SLICE_FIRST_S, order.time_limit_s / 2))
        firsts = firsts if placed is None else [placed]
    if not firsts:
        return
    # Of the largest box of the first starts: limits that were assumed must not stand in its way.
    limits = loosened(problem, own, max(firsts, key=lambda one: one.volume))
    relay = Relay(
        problem.spec.replace(limits=limits),
        problem.measures,
        told,
        deadline=deadline,
        seed=order.seed,
        rules=problem.rules,
    )
    for layout in firsts:
        relay.add(layout)

    def further() -> Iterator[Layout]:
        while others:
            other = others.pop()
            if placing.is_use(other):
                yield other
        while not arrivals.empty():
            yield arrivals.get()
        placed = placing.turn()
        if placed is not None:
            yield placed

    relay.run(further)
