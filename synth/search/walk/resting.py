"""When the search from above rests, so that the walk has its worker's place.

Once a layout is known, the time belongs to whichever side gets on. What comes from above is silent
where its layout is the smallest already, and only the walk can say so; but it may just as well be
between two gains. So once it has been silent it rests for a while, and works for as long again;
then both last twice as long, up to ``MOST_S``. Each gain begins that anew. However long it is
silent, it has a third of the time at least.
"""

from __future__ import annotations

SILENT_S = 0.5
"""Seconds without a gain after which it rests for the first time, and how long it does. An
exclusive-or, free, within 4 ticks, took 5.2 s to be proven smallest with it, 6.7 s with 1 second.
"""

MOST_S = 16.0
"""The longest rest, in seconds."""


class Resting:
    """Follows the gains from above.

    Args:
        now: when it began, as ``time.monotonic`` gives it.
    """

    def __init__(self, now: float) -> None:
        self._last_gain = now

    def gained(self, now: float) -> None:
        """Take note of a gain."""
        self._last_gain = now

    def is_due(self, now: float) -> bool:
        """Whether it rests now."""
        silent_s = now - self._last_gain
        begins_s = lasts_s = SILENT_S
        while silent_s >= begins_s + 2 * lasts_s:
            begins_s += 2 * lasts_s
            lasts_s = min(2 * lasts_s, MOST_S)
        return begins_s <= silent_s < begins_s + lasts_s
