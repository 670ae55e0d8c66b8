"""Three-valued settling (section 5): what is known of every part without knowing its past.

All input assignments are played at once, one bit of a mask each: bit ``r`` stands for the
assignment in row ``r`` of counting order, the first input the most significant bit.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from synth.errors import InputError
from synth.layout import Layout
from synth.medium import DEFAULT_RULES, Cell, Rules
from synth.simulator.fabric import Fabric, fabric_of
from synth.simulator.legality import legality
from synth.simulator.power import Instant, instant
from synth.words import counted

MAX_SETTLED_INPUTS = 16
"""Most inputs that are settled: every assignment is a bit of every mask."""


MAX_WORK = 10_000_000
"""Most masks that one play to the end may compute: 2.4 seconds and 120 MB (measured); a command may
make three such plays. A chain of 570 buffers of 4 ticks comes to that; layouts of the search, to
some thousands."""

_ROWS_OF_A_MASK = 256
"""Assignments above which a mask counts for more than one: it is longer than what holds it."""


class Effort:
    """Counts what settling computes, so that a judgement that would take hours is refused.

    Args:
        most: masks that may be computed.
    """

    def __init__(self, most: int = MAX_WORK) -> None:
        self._left = most

    def spend(self, fabric: Fabric, full: int) -> None:
        """One tick of the three-valued play of a fabric.

        Raises:
            InputError: if that is more than is left.
        """
        masks = 2 * (fabric.first_input + len(fabric.wires) + len(fabric.solids))
        self._left -= masks * (1 + full.bit_length() // _ROWS_OF_A_MASK)
        if self._left < 0:
            raise InputError(
                "the layout takes too long to settle: too many ticks, times parts, times input "
                "assignments, times copies of a stack that reach into each other",
                way_out="judge it in pieces, or play a trace",
            )


@dataclass(frozen=True, slots=True)
class Both:
    """One tick of the three-valued play: the sure play and the possible play."""

    sure: Instant
    possible: Instant


def input_masks(count: int) -> list[int]:
    """For each of ``count`` inputs, the assignments in which it is on."""
    rows = 1 << count
    return [
        sum(1 << row for row in range(rows) if row >> (count - 1 - index) & 1)
        for index in range(count)
    ]


def play_unknown(
    fabric: Fabric,
    rules: Rules,
    full: int,
    inputs: Sequence[tuple[int, int]],
    effort: Effort | None = None,
) -> Iterator[Both]:
    """The three-valued play, tick by tick from 0, up to where nothing can change any more.

    Args:
        full: the mask of all assignments.
        inputs: for each entry of ``fabric.inputs``, where it is surely on and where it is
            possibly on, at every tick (an input that stands still has both alike).
        effort: what may be spent on it; None: however much it takes.

    What is known stays known: at tick 0 no less is known than nothing, and every rule turns
    more known into more known. So the play reaches a tick after which all stays as it is:
    when the emitters were alike for more ticks than any buffer looks back, what every output
    of the next tick looks at is what it looked at for this one.
    """
    standing_sure = [*(sure for sure, _ in inputs), 0]
    standing_possible = [*(possible for _, possible in inputs), full]
    devices = fabric.first_input
    sure_on, possible_on = [0] * devices, [full] * devices
    # No buffer looks back further than the longest window.
    saw_sure: deque[list[int]] = deque(maxlen=max(1, fabric.longest_window))
    saw_possible: deque[list[int]] = deque(maxlen=max(1, fabric.longest_window))
    quiet = 0
    while True:
        if effort is not None:
            effort.spend(fabric, full)
        sure = instant(fabric, sure_on + standing_sure, rules.reach)
        possible = instant(fabric, possible_on + standing_possible, None)
        yield Both(sure, possible)
        if quiet == fabric.longest_window:
            return
        saw_sure.append([sure.seen(back) for back in fabric.backs])
        saw_possible.append([possible.seen(back) for back in fabric.backs])
        next_sure = [full & ~possible.charged[host] for host in fabric.hosts]
        next_possible = [full & ~sure.charged[host] for host in fabric.hosts]
        for index, delay in enumerate(fabric.delays):
            if fabric.holders[index]:
                next_sure.append(0)
                next_possible.append(full)
            else:
                next_sure.append(_throughout(saw_sure, index, delay))
                next_possible.append(_ever(saw_possible, index, 2 * delay - 1, full))
        alike = next_sure == sure_on and next_possible == possible_on
        quiet = quiet + 1 if alike else 0
        sure_on, possible_on = next_sure, next_possible


def _throughout(saw: deque[list[int]], index: int, window: int) -> int:
    """Where a buffer saw power at all of the last ``window`` ticks; before 0 is unknown."""
    if len(saw) < window:
        return 0
    kept = saw[-1][index]
    for past in range(2, window + 1):
        kept &= saw[-past][index]
    return kept


def _ever(saw: deque[list[int]], index: int, window: int, full: int) -> int:
    """Where a buffer saw power at any of the last ``window`` ticks; before 0 is unknown."""
    if len(saw) < window:
        return full
    found = saw[-1][index]
    for past in range(2, window + 1):
        found |= saw[-past][index]
    return found


class Settling:
    """What is surely and what is possibly on, for every part, tick and input assignment.

    Every answer is a mask over the assignments (bit ``r``: row ``r`` of counting order, the
    first input the most significant bit). Ticks after the last one played read as that one,
    because nothing changes any more. Made by ``settle``.

    Attributes:
        layout: the layout.
        full: the mask of all assignments.
        ticks: what was played, from tick 0.
        fabric: the numbering of its parts.
    """

    def __init__(self, layout: Layout, fabric: Fabric, full: int, ticks: Sequence[Both]) -> None:
        self.layout = layout
        self.full = full
        self.ticks = tuple(ticks)
        self.fabric = fabric
        self._emitters = {
            cell: number for number, cell in enumerate((*fabric.inverters, *fabric.buffers))
        }
        self._wires = {cell: n for n, cell in enumerate(fabric.wires[: fabric.box_wires])}
        self._solids = {cell: number for number, cell in enumerate(fabric.solids)}
        self._inputs = {port.pin.name: port for port in fabric.inputs}
        self._outputs = {port.pin.name: port for port in fabric.outputs}

    def at(self, tick: int) -> Both:
        """The tick as played; the last one for every later tick."""
        return self.ticks[min(tick, len(self.ticks) - 1)]

    def surely(self, cell: Cell, tick: int) -> int:
        """Where a wire surely has power, a solid is charged, an inverter or buffer is on."""
        return self._read(self.at(tick).sure, cell)

    def possibly(self, cell: Cell, tick: int) -> int:
        """The same for possibly."""
        return self._read(self.at(tick).possible, cell)

    def surely_driven(self, cell: Cell, tick: int) -> int:
        """Where the solid in ``cell`` is surely driven."""
        return self.at(tick).sure.driven[self._solids[cell]]

    def possibly_driven(self, cell: Cell, tick: int) -> int:
        """Where the solid in ``cell`` is possibly driven."""
        return self.at(tick).possible.driven[self._solids[cell]]

    def surely_lead(self, name: str, tick: int) -> int:
        """Where the lead of the pin ``name`` (joint wire) is surely powered."""
        return self.at(tick).sure.powered[self._lead(name)]

    def possibly_lead(self, name: str, tick: int) -> int:
        """Where the lead of the pin ``name`` (joint wire) is possibly powered."""
        return self.at(tick).possible.powered[self._lead(name)]

    def surely_reads(self, name: str, tick: int) -> int:
        """Where the output ``name`` surely reads on."""
        return self.at(tick).sure.seen(self._outputs[name].sight)

    def possibly_reads(self, name: str, tick: int) -> int:
        """Where the output ``name`` possibly reads on."""
        return self.at(tick).possible.seen(self._outputs[name].sight)

    def fed_back(self, name: str, tick: int) -> int:
        """Where the input ``name`` is off and its lead possibly on (section 5)."""
        port = self._inputs[name]
        if port.lead is None:
            return 0
        possible = self.at(tick).possible
        return possible.powered[port.lead] & ~possible.on[port.emitter]

    def _read(self, power: Instant, cell: Cell) -> int:
        if cell in self._wires:
            return power.powered[self._wires[cell]]
        if cell in self._solids:
            return power.charged[self._solids[cell]]
        return power.on[self._emitters[cell]]

    def _lead(self, name: str) -> int:
        port = self._inputs.get(name) or self._outputs[name]
        if port.lead is None:
            raise KeyError(f"pin {name!r} has a buffer outside, not a lead")
        return port.lead


def settle(layout: Layout, rules: Rules = DEFAULT_RULES) -> Settling:
    """Settle a legal layout, all input assignments at once, until nothing changes any more.

    Raises:
        InputError: if the layout is not legal, has more than ``MAX_SETTLED_INPUTS`` inputs, or
            takes more than ``MAX_WORK``.
    """
    refuse_illegal(layout, rules)
    count = len(layout.inputs)
    if count > MAX_SETTLED_INPUTS:
        raise InputError(
            f"{count} inputs are too many to settle for every assignment",
            place="pins",
            way_out=f"use at most {MAX_SETTLED_INPUTS}, or play a trace",
        )
    fabric = fabric_of(layout)
    full = (1 << (1 << count)) - 1
    inputs = [(mask, mask) for mask in input_masks(count)]
    played = list(play_unknown(fabric, rules, full, inputs, Effort()))
    return Settling(layout, fabric, full, played)


def refuse_illegal(layout: Layout, rules: Rules) -> None:
    """Raise for a layout that breaks a rule, naming the rule and the cell."""
    faults = legality(layout, rules)
    if faults:
        first = faults[0]
        others = len(faults) - 1
        more = f" (and {counted(others, 'more fault')})" if others else ""
        raise InputError(
            f"the layout is not legal: rule {first.rule} at {list(first.at)}: {first.text}{more}",
            place="layout",
            way_out="run a check to see every fault",
        )
