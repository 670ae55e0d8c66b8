"""Oscillation and memory: what a layout does where its inputs alone do not settle it.

Where some inverter or buffer stays unknown in the three-valued play, the layout is played from
every way in which those may start, as far as that is few, with the inputs standing still: if it
comes to rest, that is a state that holds; if it goes round, it oscillates. A buffer starts with
nothing pending.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import networkx as nx

from synth.medium import Cell
from synth.reviewing.finding import Finding, Kind, Place, Severity
from synth.reviewing.naming import named_cells
from synth.reviewing.subject import Subject
from synth.reviewing.together import Plays, after, nothing_pending, shown
from synth.simulator.explaining.netlist import netlist_of
from synth.simulator.fabric import Fabric
from synth.simulator.settling import Settling, input_masks
from synth.simulator.wanted import rows_of
from synth.words import counted, listed, ticks

MAX_STARTS = 4_096
"""Most starts that are played: ways to begin, times assignments."""

MAX_WORK = 1_000_000_000
"""Most starts times parts times ticks that are played: some half a second."""

MAX_KEPT = 2_000_000
"""Most parts times ticks of plays that are kept to look back at."""

MAX_GRAPH = 256
"""Most states times assignments of a state graph that is told."""


@dataclass(frozen=True)
class Hold:
    """A state that holds while the inputs stand still.

    Attributes:
        row: the assignment, in counting order.
        on: for each inverter and buffer, 0 or 1.
        outputs: for each output, what it reads.
    """

    row: int
    on: tuple[int, ...]
    outputs: tuple[int, ...]


def memory_findings(subject: Subject) -> tuple[list[Finding], list[str]]:
    """Findings of oscillation, memory and devices that only stay unknown; what was not tried."""
    settled = subject.settled
    fabric = settled.fabric
    unknown = unknown_emitters(settled)
    if not unknown:
        return [], []
    at = [(*fabric.inverters, *fabric.buffers)[number] for number in unknown]
    loop = _loop(subject, at)
    starts = settled.full.bit_length() << len(unknown)
    length = 2 * sum(fabric.delays) + 2 * fabric.first_input + 2
    kept = subject.parts * length
    if starts > MAX_STARTS or starts * kept > MAX_WORK or kept > MAX_KEPT:
        text = (
            f"{counted(len(unknown), 'inverter or buffer')} may remember or oscillate: they hang "
            f"on one another at {named_cells(loop)}"
        )
        finding = Finding(Kind.UNSETTLED, Severity.WARNING, tuple(map(Place, loop)), text)
        return [finding], ["states that hold, and oscillation: too many ways to begin"]
    return _Played(subject, unknown, length).findings(loop), []


def unknown_emitters(settled: Settling) -> list[int]:
    """Numbers of the inverters and buffers that stay unknown at some assignment."""
    last = settled.ticks[-1]
    return [
        number
        for number in range(settled.fabric.first_input)
        if last.sure.on[number] != last.possible.on[number]
    ]


def _loop(subject: Subject, at: Sequence[Cell]) -> list[Cell]:
    """The unknown devices that see themselves through others, or hold; all of them if none does."""
    netlist = netlist_of(subject.layout, subject.rules)
    graph = netlist.graph()
    on_a_loop = {
        name
        for group in nx.strongly_connected_components(graph)
        if len(group) > 1 or any(graph.has_edge(name, name) for name in group)
        for name in group
    }
    on_a_loop |= {node.name for node in netlist.holding}
    found = sorted(
        node.at for name, node in netlist.nodes.items() if name in on_a_loop and node.at in set(at)
    )
    return found or sorted(at)


class _Played:
    """Plays from every start and tells what happened."""

    def __init__(self, subject: Subject, unknown: Sequence[int], length: int) -> None:
        self.subject, self.unknown, self.length = subject, unknown, length
        self.settled, self.wanted = subject.settled, subject.wanted
        self.fabric: Fabric = subject.settled.fabric
        self.rows = self.settled.full.bit_length()

    def findings(self, loop: Sequence[Cell]) -> list[Finding]:
        """What was found of the loop."""
        ways = 1 << len(self.unknown)
        block = (1 << ways) - 1
        # Play ``row * ways + way``: the unknown devices start as the bits of ``way`` say.
        known = self.settled.ticks[-1].sure.on
        on = [self._by_row(known[number], block, ways) for number in range(self.fabric.first_input)]
        pattern = input_masks(len(self.unknown))
        for place, number in enumerate(self.unknown):
            on[number] = sum(pattern[place] << row * ways for row in range(self.rows))
        inputs = [self._by_row(mask, block, ways) for mask in input_masks(len(self.fabric.inputs))]
        history = self._play(nothing_pending(self.fabric, on), inputs, self.rows * ways)
        moving = history.moving
        holds = sorted(
            {
                history.hold(number, number // ways)
                for number in range(self.rows * ways)
                if not moving >> number & 1
            },
            key=lambda hold: (hold.row, hold.on),
        )
        found = []
        if moving:
            found.append(self._oscillation(history, moving, ways, loop))
        found += self._memory(holds, loop)
        if not found:
            rows = self._unknown_rows()
            where = self.wanted.assignment(rows[0])
            text = (
                f"{named_cells(loop)} come to rest at {where} from every start that was played, "
                "though settling leaves them unknown"
            )
            found.append(Finding(Kind.UNSETTLED, Severity.NOTE, tuple(map(Place, loop)), text))
        return found

    def _unknown_rows(self) -> list[int]:
        last = self.settled.ticks[-1]
        mask = 0
        for number in self.unknown:
            mask |= last.sure.on[number] ^ last.possible.on[number]
        return rows_of(mask)

    def _by_row(self, mask: int, block: int, ways: int) -> int:
        return sum(block << row * ways for row in rows_of(mask))

    def _play(self, plays: Plays, inputs: Sequence[int], count: int) -> _History:
        full = (1 << count) - 1
        history = _History(self.fabric, full)
        for _ in range(self.length):
            power = shown(self.fabric, plays, inputs, self.subject.rules)
            history.add(plays, [power.seen(port.sight) for port in self.fabric.outputs])
            plays = after(self.fabric, plays, power, full)
        history.add(plays, [])
        return history

    def _oscillation(
        self, history: _History, moving: int, ways: int, loop: Sequence[Cell]
    ) -> Finding:
        rows = sorted({number // ways for number in rows_of(moving)})
        number = rows_of(moving)[0]
        period = history.period(number)
        devices = (*self.fabric.inverters, *self.fabric.buffers)
        cells = [devices[one] for one in history.changing(number)] or list(loop)
        every = "" if period is None else f" every {ticks(period)}"
        text = (
            f"{named_cells(cells)} can oscillate{every} at {self.wanted.assignment(number // ways)}"
        )
        if len(rows) > 1:
            text += f", and at {counted(len(rows) - 1, 'other assignment')}"
        return Finding(
            Kind.OSCILLATION,
            Severity.WARNING,
            tuple(map(Place, cells)),
            text,
            medium="5 inverter in time",
            details={"period": period, "rows": [self._bits(row) for row in rows]},
        )

    def _memory(self, holds: Sequence[Hold], loop: Sequence[Cell]) -> list[Finding]:
        by_row: dict[int, list[Hold]] = {}
        for hold in holds:
            by_row.setdefault(hold.row, []).append(hold)
        row, most = max(by_row.items(), key=lambda item: len(item[1]), default=(0, []))
        if len(most) < 2:
            return []
        names = [port.pin.name for port in self.fabric.outputs]
        reads = dict.fromkeys(
            " ".join(f"{name}={value}" for name, value in zip(names, hold.outputs, strict=True))
            for hold in most
        )
        told = f", with {listed(list(reads), 'or')}" if names else ""
        text = (
            f"it remembers: at {self.wanted.assignment(row)} it holds "
            f"{counted(len(most), 'state')}{told}, as its past was; {named_cells(loop)} keep it"
        )
        held = any(self.fabric.holders)
        return [
            Finding(
                Kind.MEMORY,
                Severity.WARNING,
                tuple(map(Place, loop)),
                text,
                medium="5 held in time" if held else "5 inverter in time",
                details=self._graph(holds),
            )
        ]

    def _graph(self, holds: Sequence[Hold]) -> dict[str, Any]:
        """The states that hold, and where each change of the inputs leads from each."""
        devices = (*self.fabric.inverters, *self.fabric.buffers)
        names = [port.pin.name for port in self.fabric.outputs]
        graph: dict[str, Any] = {
            "states": [
                {
                    "inputs": self._bits(hold.row),
                    "on": [list(devices[one]) for one, value in enumerate(hold.on) if value],
                    "outputs": dict(zip(names, hold.outputs, strict=True)),
                }
                for hold in holds[:MAX_GRAPH]
            ],
            "changes": None,
        }
        count = len(holds) * self.rows
        if count > MAX_GRAPH:
            return graph
        # Play ``state * rows + row``.
        on = [
            sum(
                ((1 << self.rows) - 1) << state * self.rows
                for state, hold in enumerate(holds)
                if hold.on[number]
            )
            for number in range(self.fabric.first_input)
        ]
        inputs = [
            sum(mask << state * self.rows for state in range(len(holds)))
            for mask in input_masks(len(self.fabric.inputs))
        ]
        history = self._play(nothing_pending(self.fabric, on), inputs, count)
        places = {hold: state for state, hold in enumerate(holds)}
        graph["changes"] = [
            {
                "from": number // self.rows,
                "inputs": self._bits(number % self.rows),
                "to": None
                if history.moving >> number & 1
                else places.get(history.hold(number, number % self.rows)),
            }
            for number in range(count)
        ]
        return graph

    def _bits(self, row: int) -> str:
        inputs = len(self.fabric.inputs)
        return format(row, f"0{inputs}b") if inputs else ""


class _History:
    """What plays did, tick by tick."""

    def __init__(self, fabric: Fabric, full: int) -> None:
        self.devices = fabric.first_input
        self.full = full
        self.states: list[Plays] = []
        self.outputs: Sequence[int] = ()

    def add(self, plays: Plays, outputs: Sequence[int]) -> None:
        """The next tick, and what the outputs read at it."""
        self.states.append(plays)
        self.outputs = outputs or self.outputs

    @property
    def moving(self) -> int:
        """The plays that have not come to rest: something still changes, or is due to."""
        before, last = self.states[-2:]
        found = 0
        for one, other in zip(before.on, last.on, strict=True):
            found |= one ^ other
        for waits in last.waits:
            for wait in waits:
                found |= wait
        return found

    def hold(self, number: int, row: int) -> Hold:
        """The state that a play has come to rest in."""
        return Hold(
            row,
            tuple(mask >> number & 1 for mask in self.states[-1].on),
            tuple(mask >> number & 1 for mask in self.outputs),
        )

    def _state(self, tick: int, number: int) -> tuple[int, ...]:
        plays = self.states[tick]
        waits = (wait for one in plays.waits for wait in one)
        return tuple(mask >> number & 1 for mask in (*plays.on, *waits))

    def period(self, number: int) -> int | None:
        """After how many ticks a play comes back to where it is in the end; None if not yet."""
        last = self._state(-1, number)
        for past in range(2, len(self.states) + 1):
            if self._state(-past, number) == last:
                return past - 1
        return None

    def changing(self, number: int) -> list[int]:
        """The inverters and buffers that change within the last period."""
        period = self.period(number) or 1
        span = self.states[-(period + 1) :]
        return [
            one
            for one in range(self.devices)
            if len({plays.on[one] >> number & 1 for plays in span}) > 1
        ]
