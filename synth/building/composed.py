"""Circuits of few inputs composed as functions: two levels at once, by every construction."""

from __future__ import annotations

from collections.abc import Iterator

from synth.circuits.circuit import Circuit
from synth.circuits.pins import spec_of
from synth.composing import compose
from synth.composing.constructions import CONSTRUCTIONS
from synth.layout import Layout
from synth.medium import Direction, Joint, Rules
from synth.spec import Limits, PinDemand
from synth.spec.spec import MAX_DELAY

MOST_COMPOSED = 8
"""Most inputs of a function that is composed (``synth.composing``)."""


def composed(
    circuit: Circuit, joint: Joint, *, delay: int | None, by: str, rules: Rules
) -> Iterator[tuple[str, Layout]]:
    """Layouts of a circuit of few inputs, each with the name of the construction that made it.

    Pins are named and lie as those of a placed circuit do: inputs on the side -x, outputs on the
    side +x. Of each construction there is the best that is as quick as is asked, or the quickest:
    which of all is the best is known only once they are shrunk. The same in every run.

    Args:
        circuit: what is computed.
        joint: of every pin.
        delay: ticks that are asked, or None; layouts may be slower.
        by: ``area`` or ``delay``: what is to be small.
        rules: the rule table.
    """
    if len(circuit.inputs) > MOST_COMPOSED:
        return
    spec = spec_of(circuit)
    sides = {
        **dict.fromkeys(spec.function.inputs, Direction.NX),
        **dict.fromkeys(spec.function.outputs, Direction.PX),
    }
    pins = {name: PinDemand(faces=(side,), joint=joint) for name, side in sides.items()}
    asked = None if delay is None else min(delay, MAX_DELAY)
    spec = spec.replace(pins=pins, limits=Limits(delay=asked))
    measures = ("delay", "volume") if by == "delay" else ("volume",)
    for construction in CONSTRUCTIONS:
        found = compose(spec, measures=measures, rules=rules, constructions=(construction,))
        attempt = found.best or found.nearest
        if attempt is not None and attempt.layout is not None:
            yield construction.name, attempt.layout
