"""Signals that are known before their place is: what structure first puts into a box."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from enum import Enum


class Origin(Enum):
    """What a signal comes from."""

    INPUT = "input"
    INVERTER = "inverter"
    BUFFER = "buffer"


@dataclass(frozen=True)
class Signal:
    """One function of the inputs, and from when on it is known.

    Attributes:
        name: names it; that of an input is the input's.
        rows: bit ``r`` is set if it is on in row ``r`` (counting order of assignments).
        tick: from that tick on it is on or off for good, in every row.
        origin: an input, an inverter, or a buffer that repeats a signal of the same rows.
    """

    name: str
    rows: int
    tick: int
    origin: Origin


@dataclass(frozen=True)
class Signals:
    """The signals that a placement may use.

    Attributes:
        all: the signals; those of the inputs are all among them.
        mixes: pairs of names that may meet on one wire, each way round; None: any may. A
            signal may always meet itself and what repeats it.
    """

    all: tuple[Signal, ...]
    mixes: frozenset[tuple[str, str]] | None = None

    def may_mix(self, one: Signal, other: Signal) -> bool:
        """Whether two signals may meet on one wire."""
        if self.mixes is None or one.rows == other.rows:
            return True
        return (base_name(one), base_name(other)) in self.mixes


@dataclass(frozen=True, slots=True)
class Passing:
    """What may pass a pin.

    Attributes:
        pin: its name.
        signals: by name, those that may be there.
    """

    pin: str
    signals: tuple[str, ...]


REPEATED = "'"
"""Stands behind the name of a signal that a buffer repeats."""


def base_name(signal: Signal) -> str:
    """The name of what a buffer repeats; of any other signal its own."""
    return signal.name.rstrip(REPEATED)


def with_repeats(signals: Iterable[Signal], delay: int, latest: int | None = None) -> list[Signal]:
    """The signals, and one repeated by a buffer for each that leaves time for it.

    Args:
        signals: by name.
        delay: the last tick.
        latest: only signals known by that tick are repeated; None: all.
    """
    found = list(signals)
    for signal in list(found):
        if signal.tick >= delay or (latest is not None and signal.tick > latest):
            continue
        name = signal.name + REPEATED
        found.append(Signal(name, signal.rows, signal.tick + 1, Origin.BUFFER))
    return found


def without_repeats(signals: Signals) -> Signals:
    """The signals without those that buffers make."""
    kept = tuple(signal for signal in signals.all if signal.origin is not Origin.BUFFER)
    return Signals(kept, signals.mixes)
