"""The tick at which each output of a layout settles, by the three-valued play.

Every assignment is played where there are few enough inputs, else thousands at random: what they
need is then a lower bound, and the longest way through inverters and buffers an upper one
(``synth.simulator.acyclic``). Where both are the same, the tick is known.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from synth.circuits.circuit import Circuit
from synth.circuits.judging import drawn_masks
from synth.layout import Layout
from synth.medium import DEFAULT_RULES, Rules
from synth.simulator.acyclic import Network
from synth.simulator.fabric import fabric_of
from synth.simulator.settling import play_unknown


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


def output_ticks(
    layout: Layout,
    network: Network,
    circuit: Circuit,
    pins: Mapping[str, str],
    rules: Rules = DEFAULT_RULES,
) -> dict[str, Ticks]:
    """When each output settles; constants are left out, since they wait for nothing.

    Args:
        layout: legal, without feedback, and right.
        network: what the simulator read off it.
        circuit: what it computes.
        pins: the pin of each input and output of the circuit.
        rules: the rule table.
    """
    full, masks = drawn_masks(len(circuit.inputs))
    by_pin = {pins[name]: mask for name, mask in zip(circuit.inputs, masks, strict=True)}
    wanted = circuit.evaluate(masks, full)
    fabric = fabric_of(layout)
    sights = {port.pin.name: port.sight for port in fabric.outputs}
    inputs = [(by_pin[port.pin.name], by_pin[port.pin.name]) for port in fabric.inputs]
    varying = _varying(network)
    moving = [name for name in circuit.outputs if varying.intersection(network.outputs[pins[name]])]
    right_from = dict.fromkeys(moving, 0)
    for tick, both in enumerate(play_unknown(fabric, rules, full, inputs)):
        for name in moving:
            sight = sights[pins[name]]
            if not both.sure.seen(sight) == wanted[name] == both.possible.seen(sight):
                right_from[name] = tick + 1
    every = full.bit_length() == 1 << len(circuit.inputs)
    found = {}
    for name in moving:
        known = [
            network.elements[number].known_at
            for number in network.outputs[pins[name]]
            if number < len(network.elements)
        ]
        least = right_from[name]
        found[name] = Ticks(least, least if every else max(known, default=0))
    return found


def _varying(network: Network) -> set[int]:
    """Inputs, inverters and buffers that depend on an input, by emitter number."""
    found = set(network.inputs.values())
    for number in network.order:
        if found.intersection(network.elements[number].sees):
            found.add(number)
    return found
