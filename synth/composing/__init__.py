"""A right layout by construction, at once; others make it smaller or prove that none is."""

from synth.composing.compose import compose
from synth.composing.composition import Attempt, Composition, Unkept

__all__ = ["Attempt", "Composition", "Unkept", "compose"]
