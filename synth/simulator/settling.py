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
    return UnknownPlay(fabric, rules, full, effort).standing(inputs)


class UnknownPlay:
    """A three-valued play that can go on with other inputs where it has come to rest.

    Args:
        fabric, rules, full, effort: as ``play_unknown`` has them.
    """

    def __init__(
        self, fabric: Fabric, rules: Rules, full: int, effort: Effort | None = None
    ) -> None:
        self.fabric = fabric
        self.rules = rules
        self.full = full
        self.effort = effort
        self._sure_on, self._possible_on = all_unknown(fabric, full)
        # No buffer looks back further than the longest window.
        self._saw_sure: deque[list[int]] = deque(maxlen=fabric.longest_window)
        self._saw_possible: deque[list[int]] = deque(maxlen=fabric.longest_window)

    def standing(self, inputs: Sequence[tuple[int, int]]) -> Iterator[Both]:
        """The ticks from now on with inputs that stand still, up to where nothing changes.

        Args:
            inputs: as ``play_unknown`` has them.
        """
        fabric, full = self.fabric, self.full
        standing_sure, standing_possible = standing_still(inputs, full)
        quiet = 0
        while True:
            if self.effort is not None:
                self.effort.spend(fabric, full)
            sure = instant(fabric, self._sure_on + standing_sure, self.rules.reach)
            possible = without_loss(fabric, self._possible_on + standing_possible)
            yield Both(sure, possible)
            if quiet == fabric.longest_window:
                return
            self._saw_sure.append([sure.seen(back) for back in fabric.backs])
            self._saw_possible.append([possible.seen(back) for back in fabric.backs])
            next_sure, next_possible = inverters_settle(fabric, full, sure, possible)
            buffers_sure, buffers_possible = buffers_settle(
                fabric, full, self._saw_sure, self._saw_possible
            )
            next_sure += buffers_sure
            next_possible += buffers_possible
            alike = next_sure == self._sure_on and next_possible == self._possible_on
            quiet = quiet + 1 if alike else 0
            self._sure_on, self._possible_on = next_sure, next_possible


def standing_still(inputs: Sequence[tuple[int, int]], full: int) -> tuple[list[int], list[int]]:
    """Sections 5 and 7: the inputs at every tick, surely and possibly on, and after them the fog.

    The fog is whatever copies of which nothing is known may do: possibly on, never surely.

    Medium: 5 settling starts; 7 every copy.
    """
    sure, possible = [one for one, _ in inputs], [one for _, one in inputs]
    return [*sure, 0], [*possible, full]


def all_unknown(fabric: Fabric, full: int) -> tuple[list[int], list[int]]:
    """Section 5: inverters and buffers at tick 0: none surely on, all possibly.

    Medium: 5 settling starts.
    """
    devices = fabric.first_input
    return [0] * devices, [full] * devices


def without_loss(fabric: Fabric, possibly_on: Sequence[int]) -> Instant:
    """Section 5: the play of what is possibly on, in which no strength fades along a wire.

    Medium: 5 without loss.
    """
    return instant(fabric, possibly_on, None)


def inverters_settle(
    fabric: Fabric, full: int, sure: Instant, possible: Instant
) -> tuple[list[int], list[int]]:
    """Section 5: where each inverter is surely and possibly on at the next tick.

    Surely unless its host is possibly charged, possibly unless that is surely charged.

    Medium: 5 inverters settle.
    """
    surely, possibly = sure.charged, possible.charged
    return (
        [full & ~possibly[host] for host in fabric.hosts],
        [full & ~surely[host] for host in fabric.hosts],
    )


def buffers_settle(
    fabric: Fabric, full: int, saw_sure: deque[list[int]], saw_possible: deque[list[int]]
) -> tuple[list[int], list[int]]:
    """Section 5: where each buffer is surely and possibly on at the next tick.

    Surely if it surely saw power throughout the last ``k`` ticks, possibly if it possibly did at
    any of the last ``2k - 1``. One that may be held is unknown.

    Args:
        saw_sure, saw_possible: for each tick so far, the last one last, what each buffer saw.

    Medium: 5 buffers settle; 5 held settle.
    """
    sure, possible = [], []
    for index, (delay, holders) in enumerate(zip(fabric.delays, fabric.holders, strict=True)):
        if holders:
            sure.append(0)
            possible.append(full)
        else:
            sure.append(saw_throughout(saw_sure, index, delay))
            possible.append(saw_ever(saw_possible, index, 2 * delay - 1, full))
    return sure, possible


def saw_throughout(saw: deque[list[int]], index: int, window: int) -> int:
    """Section 5: where a buffer saw power at all of the last ``window`` ticks.

    Ticks before 0 are unknown.

    Medium: 5 buffers settle.
    """
    if len(saw) < window:
        return 0
    kept = saw[-1][index]
    for past in range(2, window + 1):
        kept &= saw[-past][index]
    return kept


def saw_ever(saw: deque[list[int]], index: int, window: int, full: int) -> int:
    """Section 5: where a buffer saw power at any of the last ``window`` ticks.

    Ticks before 0 are unknown.

    Medium: 5 buffers settle.
    """
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
            way_out=f"use at most {MAX_SETTLED_INPUTS}, play a trace, or hold it against a "
            "circuit: 'gatefit check LAYOUT --circuit CIRCUIT'",
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
