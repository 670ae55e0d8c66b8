"""A layout beyond the limits: right in all that is asked, but in a larger box.

Where no layout is known within the limits of a question, a builder is better off with one that
needs more room than with none. It is made from above only: composed at once, then shrunk. It
answers nothing and proves nothing.
"""

from __future__ import annotations

import time
from collections.abc import Callable, Iterable

from synth.layout import Layout
from synth.questions.problem import Problem
from synth.questions.room import let_go, limits_beyond
from synth.search.above.from_above import FromAbove
from synth.search.workers.judged import Found

LOOK_S = 0.25
"""Seconds between two looks at whether a better layout has come."""


def look_beyond(
    problem: Problem,
    known: Iterable[Layout] = (),
    *,
    time_limit_s: float,
    seed: int = 0,
    is_over: Callable[[], bool] = lambda: False,
    tell: Callable[[Found], object] = lambda found: None,
) -> Found | None:
    """The best layout by the measures that keeps all limits but those of space (``let_go``).

    Args:
        problem: what is asked, with the limits in force.
        known: right layouts from elsewhere, with the pins of the problem.
        time_limit_s: seconds to compose and shrink.
        seed: of the moves.
        is_over: asked now and then; ends the search early.
        tell: called with every better layout as it comes.

    Returns:
        The layout with its verdict; it may keep the limits of space as well. None if no layout
        was found, or nothing can be let go.
    """
    if not let_go(problem.spec):
        return None
    began = time.monotonic()
    limits = limits_beyond(problem.spec)
    above = FromAbove(
        problem.under(limits),
        limits,
        known,
        time_limit_s=time_limit_s,
        seed=seed,
        late=True,
    )
    told: Found | None = None
    with above:
        while True:
            busy = above.busy
            above.gains()
            if above.best is not None and above.best is not told:
                told = above.best
                tell(told)
            if not busy or is_over() or time.monotonic() - began >= time_limit_s:
                break
            time.sleep(LOOK_S)
    above.gains()
    return above.best
