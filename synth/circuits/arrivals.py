"""When what the parts of a layout without feedback give is known, by the three-valued play.

The longest way through inverters and buffers (``synth.simulator.acyclic``) is an upper bound: where
one signal decides another early, not every way matters. Here all assignments are played, and the
tick is the one from which a value is known in each of them.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from synth.circuits.network_play import play_network
from synth.simulator.acyclic import Network

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
    network: Network, masks: Mapping[str, int], full: int, groups: Sequence[Group]
) -> Arrivals:
    """Play all assignments of a layout.

    Args:
        network: what the simulator read off the layout.
        masks: for each input pin the assignments in which it is on.
        full: the mask of all assignments.
        groups: those whose ticks are asked.
    """
    shown = tuple(dict.fromkeys(network.outputs.values()))
    known = dict.fromkeys([*groups, *shown], 0)
    row = 0
    late = next(filter(None, shown), ())
    waiting = list(known)
    for tick, emitted in enumerate(play_network(network, masks, full)):
        # What is known stays known, so only the others are asked again.
        still = []
        for group in waiting:
            sure, possible = emitted.seen(group)
            open_ = sure ^ possible
            if not open_:
                continue
            still.append(group)
            known[group] = tick + 1
            if group in shown:
                row, late = (open_ & -open_).bit_length() - 1, group
        waiting = still
    lit = {name: mask >> row & 1 for name, mask in masks.items()}
    return Arrivals(known, _way(network, lit, late))


def _way(network: Network, lit: Mapping[str, int], shown: Group) -> tuple[tuple[int, int], ...]:
    """What the OR of a group waits for in one assignment, back to where nothing is waited for."""
    since = [0] * (len(network.elements) + len(network.inputs))
    on: tuple[int, ...] = ()
    for tick, emitted in enumerate(play_network(network, lit, 1)):
        on = emitted.sure
        for number, possible in enumerate(emitted.possible):
            if on[number] != possible:
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
