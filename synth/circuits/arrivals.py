"""When what the parts of a layout without feedback give is known, by the three-valued play.

The longest way through inverters and buffers (``synth.simulator.acyclic``) is an upper bound: where
one signal decides another early, not every way matters. Here all assignments are played, and the
tick is the one from which a value is known in each of them.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from synth.layout import Layout
from synth.medium import Rules
from synth.simulator.acyclic import Network
from synth.simulator.fabric import fabric_of
from synth.simulator.settling import play_unknown

Group = tuple[int, ...]
"""Emitters, by number, of which something sees the OR."""


@dataclass(frozen=True, slots=True)
class Arrivals:
    """When groups of emitters are known, and a way to the output that is known last.

    Attributes:
        known: by group, the tick from which its OR is known in every assignment.
        way: from an input or a constant to that output, emitter and tick: in one assignment in
            which the output is known last, each is what the next one waits for. Empty where no
            output sees anything.
    """

    known: Mapping[Group, int]
    way: tuple[tuple[int, int], ...]


def arrivals(
    layout: Layout,
    network: Network,
    masks: Mapping[str, int],
    full: int,
    groups: Sequence[Group],
    rules: Rules,
) -> Arrivals:
    """Play all assignments of a layout.

    Args:
        layout: legal and without feedback.
        network: what the simulator read off it.
        masks: for each input pin the assignments in which it is on.
        full: the mask of all assignments.
        groups: those whose ticks are asked.
        rules: the rule table.
    """
    fabric = fabric_of(layout)
    inputs = [(masks[port.pin.name], masks[port.pin.name]) for port in fabric.inputs]
    shown = tuple(dict.fromkeys(network.outputs.values()))
    known = dict.fromkeys([*groups, *shown], 0)
    row = 0
    late = next(filter(None, shown), ())
    for tick, both in enumerate(play_unknown(fabric, rules, full, inputs)):
        for group in known:
            open_ = _union(both.sure.on, group) ^ _union(both.possible.on, group)
            if open_:
                known[group] = tick + 1
            if open_ and group in shown:
                row, late = (open_ & -open_).bit_length() - 1, group
    lit = {name: mask >> row & 1 for name, mask in masks.items()}
    return Arrivals(known, _way(layout, network, lit, late, rules))


def _way(
    layout: Layout, network: Network, lit: Mapping[str, int], shown: Group, rules: Rules
) -> tuple[tuple[int, int], ...]:
    """What the OR of a group waits for in one assignment, back to where nothing is waited for."""
    fabric = fabric_of(layout)
    inputs = [(lit[port.pin.name], lit[port.pin.name]) for port in fabric.inputs]
    count = len(network.elements) + len(network.inputs)
    since, on = [0] * count, [0] * count
    for tick, both in enumerate(play_unknown(fabric, rules, 1, inputs)):
        on = [both.sure.on[number] for number in range(count)]
        for number in range(count):
            if on[number] != both.possible.on[number]:
                since[number] = tick + 1
    way = []
    seen = shown
    while seen:
        # The first that is on decides; where none is, all have to be known.
        powering = [number for number in seen if on[number]]
        if powering:
            at = min(powering, key=lambda number: (since[number], number))
        else:
            at = max(seen, key=lambda number: (since[number], -number))
        way.append((at, since[at]))
        seen = network.elements[at].sees if at < len(network.elements) else ()
    return tuple(reversed(way))


def _union(values: Sequence[int], group: Group) -> int:
    found = 0
    for number in group:
        found |= values[number]
    return found
