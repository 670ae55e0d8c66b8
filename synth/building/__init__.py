"""From a circuit to one layout: NANDs, placed and routed, judged and proven equal."""

from synth.building.limits import BuildLimits
from synth.building.pipeline import build
from synth.building.result import Built

__all__ = ["BuildLimits", "Built", "build"]
