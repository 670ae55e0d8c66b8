"""Judges a layout against a circuit, for any number of inputs."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from random import Random

from synth.circuits.circuit import Circuit
from synth.errors import InputError
from synth.layout import Layout
from synth.medium import DEFAULT_RULES, Rules
from synth.simulator.acyclic import Network, network_of
from synth.simulator.legality import legality
from synth.simulator.settling import input_masks, settle

MOST_PLAYED_INPUTS = 8
"""Most inputs of which every assignment is played besides; of more, all are compared by proof."""


@dataclass(frozen=True)
class Judgement:
    """What a layout is found to be.

    Attributes:
        faults: what is wrong, a sentence each; none: nothing was found.
        network: the layout without feedback, or None if it is none.
        delay: ticks within which every output is right: the least where every assignment was
            played, else an upper bound; None if it is not known.
        played: whether every assignment was played and is right.
    """

    faults: tuple[str, ...]
    network: Network | None
    delay: int | None
    played: bool


def judge(
    layout: Layout,
    circuit: Circuit,
    pins: Mapping[str, str],
    *,
    play: bool = True,
    rules: Rules = DEFAULT_RULES,
) -> Judgement:
    """What the simulator says of a layout that is to compute a circuit.

    Args:
        layout: the layout.
        circuit: what it is to compute.
        pins: the pin of each input and output of the circuit.
        play: whether to play every assignment, where there are few enough inputs. Without it, and
            with more inputs, faults are looked for in many assignments at random only: that all
            are right is then for the miter to prove (``synth.circuits.miter``).
        rules: the rule table.
    """
    asked = [pins[name] for name in (*circuit.inputs, *circuit.outputs)]
    held = [pin.name for pin in (*layout.inputs, *layout.outputs)]
    if sorted(asked) != sorted(held):
        return Judgement((f"its pins are {held}, not {asked}",), None, None, False)
    illegal = legality(layout, rules)
    if illegal:
        return Judgement(tuple(fault.text for fault in illegal), None, None, False)
    found = network_of(layout, rules)
    network = found if isinstance(found, Network) else None
    delay = None if network is None else network.delay
    faults = [] if network is None else _tried(network, circuit, pins)
    if faults or not play or len(circuit.inputs) > MOST_PLAYED_INPUTS:
        if network is None and not isinstance(found, Network):
            faults.append(found.reason)
        return Judgement(tuple(faults), network, delay, False)
    least = _played(layout, circuit, pins, rules)
    if least is None:
        return Judgement(("some output does not settle at its value",), network, None, False)
    return Judgement((), network, least, True)


MOST_TRIED_INPUTS = 12
"""Most inputs of which every assignment is tried."""

_TRIED = 1 << MOST_TRIED_INPUTS
"""Assignments that are tried, all or at random."""


def drawn_masks(count: int) -> tuple[int, list[int]]:
    """Assignments of ``count`` inputs: all, or thousands at random, the same in every run.

    Returns:
        the mask of all of them, and for each input that of those in which it is on.
    """
    rows = min(1 << count, _TRIED)
    if rows == 1 << count:
        return (1 << rows) - 1, input_masks(count)
    draw = Random(count)
    return (1 << rows) - 1, [draw.getrandbits(rows) for _ in range(count)]


def _tried(network: Network, circuit: Circuit, pins: Mapping[str, str]) -> list[str]:
    """Outputs that are wrong in one of many assignments: all, or as many at random."""
    full, masks = drawn_masks(len(circuit.inputs))
    rows = full.bit_length()
    by_pin = {pins[name]: mask for name, mask in zip(circuit.inputs, masks, strict=True)}
    wanted = circuit.evaluate(masks, full)
    shown = network.evaluate(by_pin, full)
    wrong = {name: wanted[name] ^ shown[pins[name]] for name in circuit.outputs}
    return [
        f"output {name!r} is wrong in {mask.bit_count():,} of {rows:,} assignments tried, first at "
        + _assignment(by_pin, (mask & -mask).bit_length() - 1)
        for name, mask in wrong.items()
        if mask
    ]


def _assignment(masks: Mapping[str, int], row: int) -> str:
    """``a=1 b=0``: the values of pins in one of many assignments."""
    return " ".join(f"{name}={mask >> row & 1}" for name, mask in masks.items())


def _played(layout: Layout, circuit: Circuit, pins: Mapping[str, str], rules: Rules) -> int | None:
    """The least delay by the three-valued play of every assignment; None if none is met."""
    inputs = [pin.name for pin in layout.inputs]
    by_pin = dict(zip(inputs, input_masks(len(inputs)), strict=True))
    try:
        settled = settle(layout, rules)
    except InputError:
        return None
    wanted = circuit.evaluate([by_pin[pins[name]] for name in circuit.inputs], settled.full)
    for tick in range(len(settled.ticks)):
        right = all(
            settled.surely_reads(pins[name], tick)
            == want
            == settled.possibly_reads(pins[name], tick)
            for name, want in wanted.items()
        )
        if right and not any(settled.fed_back(name, tick) for name in inputs):
            return tick
    return None
