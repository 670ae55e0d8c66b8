"""Bounds on every layout that follow from the truth table alone, without search or solver."""

from synth.bounds.delay import NO_BOUND, DelayBound, least_delay
from synth.bounds.link import LinkBound, least_link_delay

__all__ = ["NO_BOUND", "DelayBound", "LinkBound", "least_delay", "least_link_delay"]
