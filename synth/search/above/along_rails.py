"""Slices of a chain placed along rails (``placing.railed``), each shrunk alone for a while.

They begin larger than others do, and where shrinking one ends differs much: of ten tries of the
full adder slice, from one start of 210 cells, one had 96 cells after 90 seconds, the others 98 to
156. In turns with smaller ones they would hardly be shrunk at all.
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
from synth.search.placing.railed import railed
from synth.shrinking.aim import Judged
from synth.shrinking.turns import TURN
from synth.spec import Limits

LARGER_START = 3
"""How many times as large as the smallest slice one along rails may begin."""

LARGER_END = 1.3
"""How many times as large it may be in the end: what is larger is of no use to anyone."""

PATIENCE_S = 60.0
"""Processor seconds after which a slice is left whose volume did not become less."""


def along_rails(
    problem: Problem,
    own: Limits,
    seed: int,
    deadline: float,
    smallest: Callable[[], float],
) -> Iterator[Layout | None]:
    """Slices that may be of use, and None after each piece of work without one.

    Args:
        problem: of the slices.
        own: the limits that the user gave.
        seed: of what is placed, and of the moves.
        deadline: on the monotonic clock.
        smallest: the volume of the smallest slice known.
    """

    def fits(size: Size) -> bool:
        return not broken(size, own) and math.prod(size) < LARGER_START * smallest()

    for number, start in enumerate(railed(problem, own, seed, fits)):
        yield None
        if start is None:
            continue
        best = start
        for gained in _shrunk(start, problem, own, seed + number, deadline):
            best = best if gained is None else gained
            yield None
        if best.volume <= LARGER_END * smallest():
            yield best


def _shrunk(
    start: Layout, problem: Problem, own: Limits, seed: int, deadline: float
) -> Iterator[Layout | None]:
    """What a turn gained that keeps the user's limits, or None, until nothing more is gained."""
    gains: list[Layout] = []

    def told(judged: Judged) -> None:
        if keeps(judged.layout, judged.verdict.delay, own):
            gains.append(judged.layout)

    relay = relay_for(start, problem, own, told, deadline=deadline, seed=seed, most_effort=TURN)
    relay.add(start)
    volume = start.volume
    idle_s = 0.0
    while relay.loops and idle_s < PATIENCE_S and time.monotonic() < deadline:
        gains.clear()
        began = time.process_time()
        relay.take_turns()
        idle_s += time.process_time() - began
        if gains and gains[-1].volume < volume:
            volume, idle_s = gains[-1].volume, 0.0
        yield gains[-1] if gains else None
