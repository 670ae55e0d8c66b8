"""Specifications: functions, limits, pins, the stacking asked, and their documents."""

from synth.spec.documents import load_spec, parse_spec
from synth.spec.function import MAX_INPUTS, BooleanFunction
from synth.spec.spec import Limits, PinDemand, Spec, StackDemand

# Documents are read by modules that rest on Spec, so that it cannot import them itself.
Spec.parse = staticmethod(parse_spec)
Spec.load = staticmethod(load_spec)

__all__ = ["MAX_INPUTS", "BooleanFunction", "Limits", "PinDemand", "Spec", "StackDemand"]
