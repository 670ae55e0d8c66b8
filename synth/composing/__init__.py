"""Makes a right layout by construction, at once; other rooms make it smaller."""

from synth.composing.compose import compose
from synth.composing.composition import Attempt, Composition, Unkept

__all__ = ["Attempt", "Composition", "Unkept", "compose"]
