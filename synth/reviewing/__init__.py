"""The review of a layout: what is wrong, what is risky, what is spare, and what would mend it.

Explains and never judges: the verdict is the simulator's, and every remedy was tried in it.
"""

from synth.reviewing.finding import Finding, Kind, Place, Remedy, Severity
from synth.reviewing.reviewer import Review, review

__all__ = ["Finding", "Kind", "Place", "Remedy", "Review", "Severity", "review"]
