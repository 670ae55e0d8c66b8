"""Slices of chains from above, made apart from what is shrunk in turns, in a share of the time.

Layouts whose chain is open (``opened``) come first; later slices along rails (``along_rails``) take
turns with them. Where joints are wires, slices are made with buffers first (``rejoined``).
"""

from __future__ import annotations

import math
import time

from synth.layout import Layout
from synth.questions.problem import Problem
from synth.search.above.along_rails import along_rails
from synth.search.above.opened import Opened
from synth.search.above.rejoined import rejoined
from synth.search.placing.jointing import by_buffers
from synth.search.placing.turns import Way, found_within, in_turns
from synth.spec import Limits

SHARE, SHARE_MOST = 1.0, 6.0
"""The share of slices made apart, against all else: at first, and later or where another process
has an order of the same question. Slices that are placed in steps come sooner, and end larger.
"""

LATER_S = 150.0
"""How many processor seconds all else has had by then."""

RAILS_AFTER_S = 600.0
"""Processor seconds that open chains have before slices along rails. With half of that time for
rails from the beginning the full adder slice still had 84 cells after 1,300 seconds on two cores;
without rails it had 80 after 886 (one run each). The smallest slices known came from rails, but
took longer.
"""


class Apart:
    """Makes slices in turns with other work.

    Args:
        problem: of the slices.
        own: the limits that the user gave.
        seed: of the moves.
        deadline: on the monotonic clock.
        most: whether to have most of the time.

    Attributes:
        comes_first: whether a slice is sooner made apart than placed.
    """

    def __init__(
        self, problem: Problem, own: Limits, seed: int, deadline: float, *, most: bool = False
    ) -> None:
        self._others_s = LATER_S if most else 0.0
        self._deadline = deadline
        self._smallest = math.inf

        def smallest() -> float:
            return self._smallest

        self.comes_first = by_buffers(problem) is not None
        if self.comes_first:
            first = rejoined(problem, own, seed, deadline, smallest)
        else:
            first = Opened(problem, own, seed, deadline, smallest).tries()
        rails = along_rails(problem, own, seed, deadline, smallest)
        self._slices = in_turns([Way(first), Way(rails, after_s=RAILS_AFTER_S)])
        self._turn_ended = time.process_time()

    def note(self, layout: Layout) -> None:
        """Hear of a slice: what is much larger is of no use any more."""
        self._smallest = min(self._smallest, layout.volume)

    def first(self, seconds: float) -> Layout | None:
        """A slice if one is found in so many processor seconds."""
        found = found_within(self._slices, seconds, self._deadline)
        self._turn_ended = time.process_time()
        return found

    def turn(self) -> Layout | None:
        """A slice if one is found soon; a turn takes its share of what was done since the last."""
        began = time.process_time()
        self._others_s += began - self._turn_ended
        share = SHARE if self._others_s < LATER_S else SHARE_MOST
        found = found_within(self._slices, share * (began - self._turn_ended), self._deadline)
        self._turn_ended = time.process_time()
        return found
