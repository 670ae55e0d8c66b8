"""How many ticks a placement takes, about, without painting it."""

from __future__ import annotations

from synth.building.placing import PITCH, Placement

_CLIMB = 2
"""Strength that the climb from a column to its row takes."""


def estimated_delay(placement: Placement, reach: int) -> int:
    """Ticks of the longest way to an output, about: a NAND each, and buffers by the way's length.

    A row goes on with the strength that its column has left, which comes in from the furthest of
    what it reads, and climbs.
    """
    network = placement.network
    known = dict.fromkeys(network.inputs, 0)
    start = dict.fromkeys(network.inputs, 0)
    spent = dict.fromkeys(network.inputs, 0)
    for gate in network.gates:
        column = placement.columns[gate.name]
        x = PITCH * column.slot
        source_of = dict(zip(column.reads, column.sources, strict=True))
        ready = furthest = 0
        for read in gate.reads:
            way = abs(PITCH * column.lane - source_of[placement.lane(read)])
            repeated = (spent[read] + x - start[read]) // reach + (way + _CLIMB) // reach
            ready = max(ready, known[read] + repeated)
            furthest = max(furthest, way)
        known[gate.name] = ready + 1
        start[gate.name] = x
        spent[gate.name] = (furthest + _CLIMB) % reach
    end = PITCH * placement.slots
    shown = [signal for signal in network.outputs.values() if signal]
    return max(
        (known[signal] + (spent[signal] + end - start[signal]) // reach for signal in shown),
        default=0,
    )
