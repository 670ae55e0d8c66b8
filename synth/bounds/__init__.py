"""Bounds on every layout that follow from the truth table alone, without search or solver."""

from synth.bounds.delay import NO_BOUND, DelayBound, least_delay

__all__ = ["NO_BOUND", "DelayBound", "least_delay"]
