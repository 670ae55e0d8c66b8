"""A child process that shrinks layouts of one question and tells of every gain."""

from __future__ import annotations

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
from synth.questions.measures import LIMITED, keeps, measured
from synth.questions.problem import Problem
from synth.search.workers.child import receive, send, served
from synth.shrinking.aim import Judged
from synth.shrinking.relay import Relay
from synth.spec import Limits

MUCH_LARGER = 1.05
"""By how much a start must be larger than another one that is as quick to be left out."""

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
    """

    problem: Problem
    own: Limits
    start: Layout | None
    time_limit_s: float
    seed: int


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


def other_starts(problem: Problem) -> list[Layout]:
    """What each construction makes in a box of any size, the quickest if it is too slow.

    Shrunk, they may keep limits that no construction does. What is much larger than another and no
    quicker is left out.
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
            layout.volume > MUCH_LARGER * other.volume and ticks >= its
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
    sent: dict[bool, tuple[int, ...]] = {}

    def told(judged: Judged) -> None:
        layout, delay = judged.layout, judged.verdict.delay
        if not keeps(layout, delay, own):
            return
        answers = keeps(layout, delay, problem.limits)
        names = (*problem.measures, "volume", "parts")
        score = tuple(measured(layout, delay, name) or 0 for name in names)
        if answers not in sent or score < sent[answers]:
            sent[answers] = score
            if layout != order.start:  # The other side has that one already.
                send(output, layout)

    firsts = [] if order.start is None else [order.start]
    others = other_starts(problem)
    if not firsts:
        firsts, others = others, []
    if not firsts:
        return
    # Of the largest box of the first starts: limits that were assumed must not stand in its way.
    limits = loosened(problem, own, max(firsts, key=lambda one: one.volume))
    relay = Relay(
        problem.spec.replace(limits=limits),
        problem.measures,
        told,
        deadline=time.monotonic() + order.time_limit_s,
        seed=order.seed,
        rules=problem.rules,
    )
    for layout in firsts:
        relay.add(layout)

    def further() -> Iterator[Layout]:
        while others:
            yield others.pop()
        while not arrivals.empty():
            yield arrivals.get()

    relay.run(further)
