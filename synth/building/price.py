"""What a placement costs while many are tried."""

from __future__ import annotations

from dataclasses import dataclass

from synth.building.annealing import area
from synth.building.estimate import estimated_delay
from synth.building.limits import BuildLimits
from synth.building.placing import Placement

DEAR = 4
"""How many times its price a placement costs more that is twice as large as a limit allows."""


@dataclass(frozen=True)
class Pricing:
    """Its area or delay, and dearly what it breaks of limits.

    Attributes:
        limits: of the build.
        by_delay: whether the delay is to be small as well as the area.
        reach: of the rule table.
    """

    limits: BuildLimits
    by_delay: bool
    reach: int

    def __call__(self, placement: Placement) -> float:
        """The price."""
        limits = self.limits
        length, width, height = placement.size
        timed = self.by_delay or limits.delay is not None
        delay = estimated_delay(placement, self.reach) if timed else 0
        over = 0.0
        for most, own in (
            (limits.length, length),
            (limits.width, width),
            (limits.delay, delay),
            (limits.volume, length * width * height),
        ):
            if most is not None and own > most:
                over += own / most - 1
        base = area(placement)
        return (base * (1 + delay) if self.by_delay else base) * (1 + DEAR * over)
