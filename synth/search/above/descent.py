"""A child process that shrinks layouts of one question and tells of every gain."""

from __future__ import annotations

import os
import queue
import threading
import time
from collections.abc import Iterator
from dataclasses import dataclass
from typing import IO

from synth.composing import compose
from synth.composing.constructions import CONSTRUCTIONS
from synth.layout import Layout
from synth.medium import Size
from synth.questions.measures import keeps, measured
from synth.questions.problem import Problem
from synth.search.above.apart import Apart
from synth.search.above.loosening import broken, relay_for
from synth.search.above.placed import Placing
from synth.search.workers.child import receive, send, served
from synth.shrinking.aim import Judged
from synth.spec import Limits

MUCH_LARGER = 1.05
"""By how much a start must be larger than another one that is as quick to be left out."""

PLACED_FIRST_S = 30.0
"""Processor seconds that placing gets before anything is shrunk, where all constructions are too
slow.
"""

SLICE_FIRST_S = 120.0
"""The same where the start is a far larger slice of a chain."""

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
        further: whether another process has an order of the same question.
    """

    problem: Problem
    own: Limits
    start: Layout | None
    time_limit_s: float
    seed: int
    late: bool = False
    further: bool = False


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
            and broken(other.size, own) <= broken(layout.size, own)
            for (_, its), other in found.items()
        )
    ]


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
    placing = Placing(problem, own, order.seed, deadline, late=order.late)
    apart = Apart(problem, own, order.seed, deadline, most=order.further)
    sent: dict[bool, tuple[int, ...]] = {}

    def told(judged: Judged) -> None:
        layout, delay = judged.layout, judged.verdict.delay
        if not keeps(layout, delay, own):
            return
        placing.note(layout)
        apart.note(layout)
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
        most_s = min(SLICE_FIRST_S, order.time_limit_s / 2)
        placed = apart.first(most_s) if apart.comes_first else placing.turn(most_s)
        placing.resume()  # That was its own turn, and no time that it may have as well.
        firsts = firsts if placed is None else [placed]
    if not firsts:
        return
    # Of the largest box of the first starts: limits that were assumed must not stand in its way.
    largest = max(firsts, key=lambda one: one.volume)
    relay = relay_for(largest, problem, own, told, deadline=deadline, seed=order.seed)
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
        made = apart.turn()
        placing.resume()
        if made is not None:
            yield made

    relay.run(further)
