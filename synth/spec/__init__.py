"""Specifications: functions, limits, pins, the stacking asked, and their documents."""

from synth.spec.function import MAX_INPUTS, BooleanFunction
from synth.spec.spec import Limits, PinAsk, Spec, StackAsk

__all__ = ["MAX_INPUTS", "BooleanFunction", "Limits", "PinAsk", "Spec", "StackAsk"]
