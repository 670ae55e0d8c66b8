"""Which cell of which copy disturbs another: the ways from copy to copy, cut one at a time.

Power crosses from copy to copy in three ways only (``synth.simulator.stacking``): a wire charges a
solid, a driven solid powers a wire, an inverter or buffer drives a solid. Each is an entry of a
table of the fabric. A way is to blame if the copy works once the entry is left out.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from itertools import islice

from synth.layout import Stack
from synth.medium import Cell, RuleId
from synth.reviewing.finding import Place
from synth.reviewing.subject import Subject
from synth.simulator.chains import standing_of
from synth.simulator.explaining.reasons import show_cell
from synth.simulator.fabric import Fabric, Targets, weave
from synth.simulator.row import Row
from synth.simulator.settling import play_unknown
from synth.simulator.verdict import Fault

MAX_COPIES = 8
"""Longest row in which ways are cut."""

MAX_WAYS = 200
"""Most ways that are cut, one by one."""

MAX_NAMED = 3
"""Most ways that a finding names."""

_TABLES = {
    "chargers": "charges the solid",
    "sources": "powers the wire",
    "drivers": "drives the solid",
}
"""The tables of a fabric whose entries may cross from copy to copy, and what an entry does."""


@dataclass(frozen=True)
class Way:
    """One way that power takes from a copy to the next, as it is for every pair of copies.

    Attributes:
        table: the table of the fabric.
        giver, taker: cells of the layout.
        step: the giver's copy, counted from the taker's.
    """

    table: str
    giver: Cell
    taker: Cell
    step: int


def culprits(
    subject: Subject, fault: Fault, stack: Stack | None = None
) -> tuple[list[str], list[Place]]:
    """Which cell of which copy is to blame, for a copy that does not meet its delay in a row.

    Args:
        stack: the stacking of the row; None: the one that is judged.

    Returns:
        a sentence each, and the cells with their copies; empty where nothing can be said.
    """
    stack = stack or subject.stack
    if (
        fault.rule is not RuleId.STACK_FUNCTION
        or fault.copy is None
        or fault.copies is None
        or not 1 < fault.copies <= MAX_COPIES
        or stack is None
    ):
        return [], []
    row = Row(subject.layout, stack, fault.copies)
    fabric = weave(row)
    ways = list(dict.fromkeys(_ways(row, fabric)))[:MAX_WAYS]
    play = _Play(subject, fabric, fault.copy - 1)
    guilty = [way for way in ways if play.works_with(_without(row, fabric, way))]
    named = (guilty or ways)[:MAX_NAMED]
    said, places = [], []
    for way in named:
        taker = _taking_copy(fault.copy, fault.copies, way.step)
        giver = taker + way.step
        said.append(
            f"{_named(subject, way.giver)} of copy {giver} {_TABLES[way.table]} "
            f"{_named(subject, way.taker)} of copy {taker}"
        )
        places += [
            Place(subject.within(way.giver), giver),
            Place(subject.within(way.taker), taker),
        ]
    if said and not guilty:
        said[0] = f"no single way from copy to copy does it; {said[0]}"
    return said, places


def _named(subject: Subject, cell: Cell) -> str:
    """``(1,0,2)``, or ``outside the pin at (0,0,2)``."""
    if subject.layout.inside(cell):
        return show_cell(cell)
    return f"outside the pin at {show_cell(subject.within(cell))}"


def _taking_copy(copy: int, copies: int, step: int) -> int:
    """The copy to name as taking: the one that fails, if it has a neighbour on that side."""
    if 1 <= copy + step <= copies:
        return copy
    return 1 if step > 0 else 1 - step


def _ways(row: Row, fabric: Fabric) -> Iterator[Way]:
    for table, taker, givers in _entries(fabric):
        for giver in givers:
            way = _way(row, fabric, table, giver, taker)
            if way is not None:
                yield way


def _entries(fabric: Fabric) -> Iterator[tuple[str, int, tuple[int, ...]]]:
    tables: dict[str, Targets] = {
        "chargers": fabric.chargers,
        "sources": fabric.sources[: len(fabric.wires)],
        "drivers": fabric.drivers,
    }
    for name, table in tables.items():
        for taker, givers in enumerate(table):
            yield name, taker, givers


def _way(row: Row, fabric: Fabric, table: str, giver: int, taker: int) -> Way | None:
    """The way that an entry stands for; None if it stays within a copy."""
    if table == "chargers":
        gives, takes = fabric.wires[giver], fabric.solids[taker]
    else:
        devices = (*fabric.inverters, *fabric.buffers)
        if giver < len(devices):
            gives = devices[giver]
        else:
            port = fabric.inputs[giver - fabric.first_input]
            gives = row.shifted(port.pin.outside, port.copy)
        takes = (fabric.wires if table == "sources" else fabric.solids)[taker]
    giving, taking = row.home(gives), row.home(takes)
    if giving is None or taking is None or giving[0] == taking[0]:
        return None
    return Way(table, giving[1], taking[1], giving[0] - taking[0])


def _without(row: Row, fabric: Fabric, cut: Way) -> Fabric:
    """The fabric without a way, in every pair of copies."""
    kept: dict[str, list[tuple[int, ...]]] = {name: [] for name in _TABLES}
    for table, taker, givers in _entries(fabric):
        kept[table].append(
            tuple(one for one in givers if _way(row, fabric, table, one, taker) != cut)
        )
    return replace(
        fabric,
        chargers=tuple(kept["chargers"]),
        sources=(*kept["sources"], fabric.sources[-1]),
        drivers=tuple(kept["drivers"]),
    )


class _Play:
    """Plays one copy of a row whose other copies' inputs are unknown."""

    def __init__(self, subject: Subject, fabric: Fabric, copy: int) -> None:
        self.wanted, self.rules, self.copy = subject.wanted, subject.rules, copy
        self.inputs = standing_of(fabric, copy, self.wanted.full, len(self.wanted.inputs))
        asked = subject.asked_delay
        self.delay = subject.verdict.delay if asked is None else asked

    def works_with(self, fabric: Fabric) -> bool:
        """Whether the outputs of the copy are right in time."""
        if self.delay is None:
            return False
        played = play_unknown(fabric, self.rules, self.wanted.full, self.inputs)
        *_, last = islice(played, self.delay + 1)
        return self.wanted.met(fabric, last, self.copy)
