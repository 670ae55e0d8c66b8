"""Slices of a chain with wire joints: made with buffer joints first, then given those asked.

With buffers slices are found soonest, and many are kept with the program. ``placing.jointing``
gives them their joints, pin by pin.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator

from synth.composing.kept_slices import slices_of
from synth.layout import Layout
from synth.medium import Size
from synth.questions.problem import Problem
from synth.search.above.loosening import broken
from synth.search.above.opened import Opened
from synth.search.placing.behind import is_right
from synth.search.placing.jointing import by_buffers, jointed
from synth.search.placing.starts import PlacedStarts
from synth.search.placing.turns import Way, in_turns
from synth.shrinking import shrink
from synth.spec import Limits

SHRUNK, EFFORT = 3, 5_000
"""How often a placed slice is shrunk before its joints are given, and how much: half a second each
takes out most of what it has too much. Which of them can be given its joints depends on chance: of
six made of one slice of 112 cells one was, in 16 seconds, and the slice itself was not.
"""

LARGER_START = 1.5
"""How many times as large as the smallest slice one may be whose joints were given to it."""


def rejoined(
    problem: Problem,
    own: Limits,
    seed: int,
    deadline: float,
    smallest: Callable[[], float],
) -> Iterator[Layout | None]:
    """Slices that may be of use, and None after each piece of work without one.

    Args:
        problem: of the slices; none comes of one whose joints are buffers.
        own: the limits that the user gave.
        seed: of what is placed.
        deadline: on the monotonic clock.
        smallest: the volume of the smallest slice known.
    """
    buffered = by_buffers(problem)
    if buffered is None:
        return

    def fits(size: Size) -> bool:
        return not broken(size, own) and math.prod(size) < LARGER_START * smallest()

    for start in _with_buffers(buffered, own, seed, deadline, smallest):
        yield None
        # What is wrong with buffers is so with wires: no window around a pin would mend it.
        if start is None or not fits(start.size) or not is_right(start, buffered, own):
            continue
        made = yield from jointed(start, problem, own, fits)
        if made is not None:
            yield made


def _with_buffers(
    problem: Problem,
    own: Limits,
    seed: int,
    deadline: float,
    smallest: Callable[[], float],
) -> Iterator[Layout | None]:
    """Slices with buffer joints: those that are kept, then what is placed, shrunk a little."""
    yield from slices_of(problem.spec, problem.rules)
    opened = Opened(problem, own, seed, deadline, smallest)
    placed = PlacedStarts(problem, own, seed)
    for found in in_turns([Way(placed.tries()), Way(opened.tries())]):
        yield None
        for further in range(SHRUNK if found is not None else 0):
            assert found is not None
            yield shrink(
                found,
                problem.spec,
                pins="free",
                effort=EFFORT,
                seed=seed + further,
                workers=1,
                rules=problem.rules,
            ).layout
