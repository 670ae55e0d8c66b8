"""What a truth table alone says of every layout: bounds that need no search and no solver."""

from synth.bounds.delay import NO_BOUND, DelayBound, least_delay

__all__ = ["NO_BOUND", "DelayBound", "least_delay"]
