"""The tick at which each output of a layout settles, by the three-valued play.

Every assignment is played where there are few enough inputs, else thousands at random: what they
need is then a lower bound, and the longest way through inverters and buffers an upper one
(``synth.simulator.acyclic``). Where both are the same, the tick is known.

What has a network is played on that (``synth.circuits.network_play``), so quickly that shrinking
can ask for each layout; ``tried`` plays cell by cell, for layouts with feedback, and where a layout
is to be held against its circuit without trusting the network.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

from synth.circuits.circuit import Circuit
from synth.circuits.judging import MOST_TRIED_INPUTS, Judgement, drawn_masks
from synth.circuits.network_play import play_network
from synth.layout import Layout
from synth.medium import DEFAULT_RULES, Rules
from synth.simulator.acyclic import Network
from synth.simulator.fabric import fabric_of
from synth.simulator.settling import play_unknown
from synth.simulator.wanted import fed_back


@dataclass(frozen=True, slots=True)
class Ticks:
    """The tick from which an output is right in every assignment: at least, and at most."""

    least: int
    most: int

    @property
    def exact(self) -> bool:
        """Whether it is known."""
        return self.least == self.most

    def words(self) -> str:
        """``7``, or ``5 to 7``."""
        return str(self.most) if self.exact else f"{self.least} to {self.most}"


@dataclass(frozen=True, slots=True)
class Tried:
    """What the three-valued play of many assignments showed.

    Attributes:
        assignments: how many were played.
        every: whether these are all there are.
        right_from: for each output the tick from which it is right in all of them, or None.
        fed_back: names of pins of inputs that stay fed back in one of them.
    """

    assignments: int
    every: bool
    right_from: dict[str, int | None]
    fed_back: tuple[str, ...]

    @property
    def delay(self) -> int | None:
        """The tick from which all outputs are right; None if one never is, or if one feeds back."""
        found = [tick for tick in self.right_from.values() if tick is not None]
        if self.fed_back or len(found) < len(self.right_from):
            return None
        return max(found, default=0)


def tried(
    layout: Layout, circuit: Circuit, pins: Mapping[str, str], rules: Rules = DEFAULT_RULES
) -> Tried:
    """Play all assignments of a layout, or thousands at random, and hold them against a circuit.

    They are played on the fabric, cell by cell.

    Args:
        layout: legal.
        circuit: what it is to compute.
        pins: the pin of each input and output of the circuit.
        rules: the rule table.
    """
    full, masks = drawn_masks(len(circuit.inputs))
    by_pin = {pins[name]: mask for name, mask in zip(circuit.inputs, masks, strict=True)}
    wanted = circuit.evaluate(masks, full)
    fabric = fabric_of(layout)
    sights = {port.pin.name: port.sight for port in fabric.outputs}
    inputs = [(by_pin[port.pin.name], by_pin[port.pin.name]) for port in fabric.inputs]
    right_from: dict[str, int | None] = dict.fromkeys(circuit.outputs)
    for tick, both in enumerate(play_unknown(fabric, rules, full, inputs)):
        for name in circuit.outputs:
            sight = sights[pins[name]]
            right = both.sure.seen(sight) == wanted[name] == both.possible.seen(sight)
            _note(right_from, name, tick, right=right)
    rows = full.bit_length()
    stay = tuple(name for name, mask in fed_back(fabric, both).items() if mask)
    return Tried(rows, rows == 1 << len(circuit.inputs), right_from, stay)


def tried_on_network(network: Network, circuit: Circuit, pins: Mapping[str, str]) -> Tried:
    """The same as ``tried`` for a layout without feedback, by its network.

    Args:
        network: what the simulator read off the layout.
        circuit: what it is to compute.
        pins: the pin of each input and output of the circuit.
    """
    full, masks = drawn_masks(len(circuit.inputs))
    by_pin = {pins[name]: mask for name, mask in zip(circuit.inputs, masks, strict=True)}
    wanted = circuit.evaluate(masks, full)
    right_from: dict[str, int | None] = dict.fromkeys(circuit.outputs)
    for tick, emitted in enumerate(play_network(network, by_pin, full)):
        for name in circuit.outputs:
            sure, possible = emitted.seen(network.outputs[pins[name]])
            _note(right_from, name, tick, right=sure == wanted[name] == possible)
    rows = full.bit_length()
    # Nothing comes back to the lead of an input, or there were no network.
    return Tried(rows, rows == 1 << len(circuit.inputs), right_from, ())


def _note(right_from: dict[str, int | None], name: str, tick: int, *, right: bool) -> None:
    """Write down what an output does at a tick; ticks come in order."""
    if not right:
        right_from[name] = None
    elif right_from[name] is None:
        right_from[name] = tick


def timed(judgement: Judgement, circuit: Circuit, pins: Mapping[str, str]) -> Judgement:
    """A judgement with the least delay, where there are few enough inputs to play every assignment.

    Args:
        judgement: of a layout; it comes back as it is where its delay is the least one, where
            something is wrong, or where there are too many inputs.
        circuit: what it is to compute.
        pins: the pin of each input and output of the circuit.
    """
    if judgement.played or judgement.faults or judgement.network is None:
        return judgement
    if len(circuit.inputs) > MOST_TRIED_INPUTS:
        return judgement
    delay = tried_on_network(judgement.network, circuit, pins).delay
    if delay is None:
        return replace(judgement, faults=("some output does not settle at its value",), delay=None)
    return replace(judgement, delay=delay, played=True)


def output_ticks(
    network: Network, circuit: Circuit, pins: Mapping[str, str], *, constants: bool = True
) -> dict[str, Ticks]:
    """When each output settles.

    Args:
        network: what the simulator read off a layout that is right.
        circuit: what it computes.
        pins: the pin of each input and output of the circuit.
        constants: whether outputs that depend on no input are told as well. They wait for nothing
            but what settles once, and so never for another output.
    """
    plays = tried_on_network(network, circuit, pins)
    varying = _varying(network)
    found = {}
    for name, least in plays.right_from.items():
        shown = network.outputs[pins[name]]
        assert least is not None
        if not varying.intersection(shown):
            if constants:
                # It is the same in every assignment, so those that were played tell all.
                found[name] = Ticks(least, least)
            continue
        known = [
            network.elements[number].known_at for number in shown if number < len(network.elements)
        ]
        found[name] = Ticks(least, least if plays.every else max(known, default=0))
    return found


def _varying(network: Network) -> set[int]:
    """Inputs, inverters and buffers that depend on an input, by emitter number."""
    found = set(network.inputs.values())
    for number in network.order:
        if found.intersection(network.elements[number].sees):
            found.add(number)
    return found
