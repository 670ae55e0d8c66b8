"""The answer of a build: the best layout judged by all means, proven, and what is claimed of it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from pathlib import Path

from synth.building.balancing import unbalanced_words
from synth.building.best import Asked, Best, Made
from synth.building.limits import broken_words
from synth.building.mapping import NandNetwork
from synth.building.proving import Proof, prove
from synth.building.result import Built
from synth.circuits.judging import MOST_PLAYED_INPUTS, Judgement, drawn_masks
from synth.circuits.pieces import Pieces, pieces_of
from synth.circuits.pins import spec_of
from synth.circuits.ticks import Ticks
from synth.composing.canvas import LONGEST, MOST_CELLS
from synth.layout import MadeFor
from synth.questions.outcome import Status
from synth.simulator.made_for import made_for
from synth.words import listed, ticks


@dataclass(frozen=True)
class Way:
    """How the layout came about.

    Attributes:
        network: the NANDs; their signals name the pieces of the layout.
        ands, depth: of the circuit once optimised.
        routed: cells of the box of the first layout.
        tried: how many placements were tried.
        remark: what might give a smaller layout, or nothing.
    """

    network: NandNetwork
    ands: int
    depth: int
    routed: int
    tried: int
    remark: str


def finished(best: Best, way: Way, certificate: Path | None) -> Built:
    """Judge the best by all means there are, prove it, and say what is claimed.

    Args:
        best: the best layout, if there is one.
        way: how it came about.
        certificate: a folder for the circuit, the layout and the proof that they are equal.
    """
    made, asked = best.made, best.asked
    if made is None:
        return _without_layout(best, way)
    judgement = asked.judged(made.layout)
    bound, judgement = judgement.delay, asked.timed(judgement)
    if (made.origin.volume, made.origin.delay) == (made.layout.volume, bound):
        # Nothing was shrunk since: what it came from is as quick as it is.
        made = best.made = replace(made, origin=replace(made.origin, delay=judgement.delay))
    if judgement.faults or judgement.network is None:
        reason = f"the simulator rejects it: {judgement.faults[0]}"
        return _built(best, way, Status.REFUSED, reason, "", judgement)
    proof = prove(asked.circuit, made.layout, judgement, asked.pins, certificate, asked.rules)
    best.stage("proven" if proof.equal else "not proven", proof.words)
    if proof.equal is False:
        return _built(best, way, Status.REFUSED, proof.words, "", judgement)
    reasons = [broken_words(one) for one in asked.limits.broken(made.layout, judgement.delay)]
    if made.uneven:
        reasons.append(unbalanced_words(asked.ticks_of(judgement)))
    if proof.equal is None:
        reasons.append(proof.words)
    status = Status.UNDECIDED if reasons else Status.FOUND
    claim = _claim(asked, made, judgement, proof)
    return _built(best, way, status, "; ".join(reasons), claim, judgement)


def _without_layout(best: Best, way: Way) -> Built:
    if best.wrong is not None:
        return _built(best, way, Status.REFUSED, best.wrong.faults[0], "", best.wrong)
    reason = f"no placement fits a box of at most {LONGEST} cells a side and {MOST_CELLS:,} cells"
    return _built(best, way, Status.UNDECIDED, reason, "", None)


def _claim(asked: Asked, made: Made, judgement: Judgement, proof: Proof) -> str:
    if proof.equal is None:
        return ""
    delay = "" if judgement.delay is None else f" within {ticks(judgement.delay)}"
    if asked.balance and not made.uneven:
        delay += ", all outputs at the same tick" + _excepted(asked, made, judgement)
    return (
        f"computes {asked.circuit.name}{delay}, under {asked.limits.words()}: {proof.words}. It "
        "is not claimed to be the smallest."
    )


def _excepted(asked: Asked, made: Made, judgement: Judgement) -> str:
    """Which outputs a balance leaves out, in words."""
    balanced = asked.ticks_of(judgement)
    constant = [name for name in asked.circuit.outputs if name not in balanced]
    kind = "constants" if len(constant) > 1 else "the constant"
    return f" but {kind} {listed(constant)}" if constant else ""


def _built(
    best: Best, way: Way, status: Status, reason: str, claim: str, judgement: Judgement | None
) -> Built:
    asked = best.asked
    layout = None if best.made is None else best.made.layout
    pieces = None
    outputs: dict[str, Ticks] = {}
    if layout is not None and judgement is not None and judgement.network is not None:
        pieces = _pieces(best, way.network, judgement)
        outputs = asked.ticks_of(judgement, constants=True)
        layout = layout.replace(pieces=pieces.pieces, made_for=_made_for(asked))
    return Built(
        status=status,
        reason=reason,
        claim=claim,
        layout=layout,
        delay=None if judgement is None else judgement.delay,
        exact_delay=judgement is not None and (judgement.played or _reached(judgement, outputs)),
        outputs=outputs,
        pins=asked.pins,
        routed=way.routed,
        origin=None if best.made is None else best.made.origin,
        ands=way.ands,
        depth=way.depth,
        pieces=pieces,
        remark=way.remark,
        tried=way.tried,
        seconds=best.seconds,
    )


def _made_for(asked: Asked) -> MadeFor | None:
    """What the layout's file says it was made for, where that is short enough for a table."""
    if len(asked.circuit.inputs) > MOST_PLAYED_INPUTS:
        return None
    return made_for(spec_of(asked.circuit).function, None)


def _pieces(best: Best, network: NandNetwork, judgement: Judgement) -> Pieces:
    """The pieces of the layout, named after the signals of the NANDs and the outputs."""
    assert judgement.network is not None
    assert best.made is not None
    pins, inputs = best.asked.pins, best.asked.circuit.inputs
    full, masks = drawn_masks(len(inputs))
    values = network.values(dict(zip(inputs, masks, strict=True)), full)
    shown = {signal: name for name, signal in network.outputs.items() if signal}
    named = {pins.get(shown.get(name, name), name): value for name, value in values.items()}
    by_pin = {pins[name]: mask for name, mask in zip(inputs, masks, strict=True)}
    return pieces_of(best.made.layout, judgement.network, by_pin, full, named)


def _reached(judgement: Judgement, outputs: Mapping[str, Ticks]) -> bool:
    """Whether some output is known to need the whole delay."""
    return any(ticks.least == judgement.delay for ticks in outputs.values())
