"""The signals of a right layout, by name: what its inputs, inverters and buffers give.

A **label** is a signal: the rows in which it is on, and a tick from which on it is known in every
row. A window that is asked with labels may only use these signals (``placing``): it moves and
routes what is there, plays no assignments and no ticks, and so holds far more cells.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import NamedTuple

from synth.encoding.geometry import Slot
from synth.encoding.windows.promises import Place
from synth.medium import Cell


class Label(NamedTuple):
    """A signal: bit ``r`` of ``rows`` is set where it is on; from ``tick`` on it is known."""

    rows: int
    tick: int


@dataclass(frozen=True)
class Labels:
    """The signals of a layout and where they are.

    Signals are numbers: places in ``signals``, and ``unknown`` for what may be on at any time.

    Attributes:
        signals: those of the inputs first, in their order.
        devices: the signal that each inverter and buffer gives.
        carried: for each wire and lead, a mask of the signals on it.
        loose: the devices that are gone, each with its signal and where it was before anything
            moved: those of the free cells, and those that a cut took away.
    """

    signals: tuple[Label, ...]
    devices: Mapping[Place, int]
    carried: Mapping[Place, int]
    loose: tuple[tuple[Cell, int], ...] = ()

    @property
    def unknown(self) -> int:
        """The number of what is not known."""
        return len(self.signals)

    def with_new(self, labels: Sequence[Label], cells: Iterable[Cell]) -> Labels:
        """The same with further signals, which devices in these cells may give."""
        places = sorted(cells)
        signals = tuple(dict.fromkeys((*self.signals, *labels)))
        known = (1 << self.unknown) - 1
        # What is not known has the number after the last signal: that is another one now.
        carried = {
            place: mask & known | mask >> self.unknown << len(signals)
            for place, mask in self.carried.items()
        }
        loose = tuple((cell, signals.index(label)) for label in labels for cell in places)
        return Labels(signals, self.devices, carried, (*self.loose, *loose))

    def moved(self, where: Mapping[Cell, Cell], slots: Mapping[Slot, Slot]) -> Labels:
        """The same labels of parts and leads that have moved; those not named are dropped."""

        def kept(masks: Mapping[Place, int]) -> dict[Place, int]:
            found: dict[Place, int] = {}
            for (family, place), value in masks.items():
                if isinstance(place, Slot):
                    if place in slots:
                        found[family, slots[place]] = value
                elif place in where:
                    found[family, where[place]] = value
            return found

        devices = kept(self.devices)
        loose = tuple(
            (place, signal)
            for (_, place), signal in self.devices.items()
            if not isinstance(place, Slot) and place not in where
        )
        return Labels(self.signals, devices, kept(self.carried), loose)
