"""Which signals to place: those of one small network, or of several together."""

from __future__ import annotations

from collections.abc import Sequence

from synth.encoding.placing.signals import Origin, Signal, Signals, with_repeats
from synth.search.placing.networks import Network, input_signals, inverter_name

LARGE = 5
"""From this many inverters on, single networks are placed first."""

ONE_BY_ONE = 4
"""How many single networks are then tried."""

EARLY = 1
"""Signals known by this tick may be repeated by buffers: that isolates inputs from one another."""


def pools(found: Sequence[Network], delay: int, *, chained: bool = False) -> list[Signals]:
    """Sets of signals to place, the most promising first.

    For small functions, the signals of several small networks together, with early signals repeated
    by buffers, which carry signals one way, lead to the smallest layouts. For larger functions such
    formulas are too large to answer: there single networks come first, the smallest before others.

    Args:
        found: networks of one function, those with fewest inverters first.
        delay: T, in ticks.
        chained: whether it is that of a slice: its links end in a buffer (section 11), so signals
            known at any tick are repeated.
    """
    if not found:
        return []
    least = len(found[0].hears)
    repeated_by = None if chained else EARLY
    together = [_together(found, delay, least + room, repeated_by) for room in (4, 2)]
    smallest = [network for network in found if len(network.hears) == least]
    alone = [_together([network], delay, least, repeated_by) for network in smallest[:ONE_BY_ONE]]
    chosen = [*alone, *together] if least >= LARGE else together
    return list(dict.fromkeys(chosen))


def _together(found: Sequence[Network], delay: int, most: int, repeated_by: int | None) -> Signals:
    """The signals of networks together: of the first, and of further ones while there is room.

    Args:
        found: the networks, in order.
        delay: T, in ticks.
        most: the most functions that inverters may make.
        repeated_by: signals known by that tick are repeated; None: all.
    """
    made: dict[int, Signal] = {}
    mixes: set[tuple[int, int]] = set()
    for network in found:
        signals = {signal.name: signal for signal in network.signals()}
        inverted = [item for item in signals.values() if item.origin is Origin.INVERTER]
        if made and len(made.keys() | {item.rows for item in inverted}) > most:
            continue
        for signal in inverted:
            known = made.get(signal.rows)
            if known is None or signal.tick < known.tick:
                made[signal.rows] = signal
        for group in (*network.hears, *network.outputs):
            rows = [signals[name].rows for name in group]
            mixes |= {(one, other) for one in rows for other in rows}
    inputs = input_signals(found[0].function)
    numbered = enumerate(sorted(made.values(), key=lambda item: (item.tick, item.rows)), start=1)
    renamed = [
        Signal(inverter_name(number), signal.rows, signal.tick, Origin.INVERTER)
        for number, signal in numbered
    ]
    names: dict[int, list[str]] = {}
    for signal in (*inputs, *renamed):
        names.setdefault(signal.rows, []).append(signal.name)
    pairs = {(a, b) for one, other in mixes for a in names[one] for b in names[other]}
    return Signals(tuple(with_repeats([*inputs, *renamed], delay, repeated_by)), frozenset(pairs))
