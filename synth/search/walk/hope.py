"""Whether a walk can still decide all that has to be decided before its time is up.

Where it cannot, it proves nothing about the best layout any more: its bound may rise a little, and
that is all. Its workers are worth more to what comes from above.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from synth.questions.box import BoxQuestion

GIVEN_UP = 4
"""Questions that have used up their share, one after another or side by side, before the walk may
stand back: so much of the time it has in any case.
"""


def is_hopeless(
    undecided: Iterable[BoxQuestion],
    given_up: Sequence[BoxQuestion],
    share_s: float,
    left_s: float,
    workers: int,
) -> bool:
    """Whether the boxes that are left take longer than there is time.

    A box with as many cells as one that has used up its share is taken to need as much. Of boxes
    that only differ in height one is counted: an answer about the tallest may answer for all.

    Args:
        undecided: what has to be decided yet.
        given_up: what has used up its share of the time.
        share_s: that share, in seconds.
        left_s: the time left, in seconds.
        workers: how many questions are asked at the same time.
    """
    if len(given_up) < GIVEN_UP:
        return False
    least = min(asked.measure("volume") for asked in given_up)
    hard = {
        (asked.size[:2], asked.delay) for asked in undecided if asked.measure("volume") >= least
    }
    return len(hard) * share_s / workers > left_s
