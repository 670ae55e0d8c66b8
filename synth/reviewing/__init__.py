"""The review of a layout: what is wrong, what is risky, what is spare, and what would mend it.

It explains and never judges: the verdict is the simulator's, which also tried every remedy.
"""

from synth.reviewing.finding import Finding, Kind, Place, Remedy, Severity
from synth.reviewing.reviewer import Review, review

__all__ = ["Finding", "Kind", "Place", "Remedy", "Review", "Severity", "review"]
