"""Circuits of few inputs composed as functions: two levels at once, where that is smaller."""

from __future__ import annotations

from synth.circuits.circuit import Circuit
from synth.circuits.pins import spec_of
from synth.composing import compose
from synth.layout import Layout
from synth.medium import Direction, Joint, Rules
from synth.spec import PinDemand

MOST_COMPOSED = 8
"""Most inputs of a function that is composed (``synth.composing``)."""


def composed(circuit: Circuit, joint: Joint, *, by: str, rules: Rules) -> Layout | None:
    """A layout of a circuit of few inputs by the constructions for functions, or None.

    Its pins are named and lie as those of a placed circuit do: inputs on the side -x, outputs on
    the side +x. The same in every run.

    Args:
        circuit: what is computed.
        joint: of every pin.
        by: ``area`` or ``delay``: what is to be small.
        rules: the rule table.
    """
    if len(circuit.inputs) > MOST_COMPOSED:
        return None
    spec = spec_of(circuit)
    sides = {
        **dict.fromkeys(spec.function.inputs, Direction.NX),
        **dict.fromkeys(spec.function.outputs, Direction.PX),
    }
    pins = {name: PinDemand(faces=(side,), joint=joint) for name, side in sides.items()}
    measures = ("delay", "volume") if by == "delay" else ("volume",)
    best = compose(spec.replace(pins=pins), measures=measures, rules=rules).best
    return None if best is None else best.layout
