"""Findings from the verdict: every fault once, with what causes it and what would mend it."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from itertools import groupby

from synth.medium import Cell, RuleId
from synth.reviewing.feeding import feeders
from synth.reviewing.finding import MEDIUM_OF, Finding, Kind, Place, Remedy, Severity
from synth.reviewing.naming import named_cells
from synth.reviewing.neighbours import culprits
from synth.reviewing.subject import Key, Subject, key_of
from synth.simulator.verdict import Fault


def fault_findings(
    subject: Subject, remedies: Mapping[Key, tuple[Remedy, ...]]
) -> Iterator[Finding]:
    """Every fault of the verdict; an output that is wrong at several assignments is one."""
    faults = sorted(subject.verdict.faults, key=lambda fault: _output_of(fault) is not None)
    for _, group in groupby(faults, key=lambda fault: _output_of(fault) or id(fault)):
        same = list(group)
        first = same[0]
        mending = remedies.get(key_of(first), ())
        text, places = first.text, [Place(subject.within(first.at), first.copy)]
        kind = Kind.FAULT
        if len(same) > 1:
            rows = len(next(iter((subject.verdict.outputs or {}).values()), ""))
            text += f"; {len(same)} of {rows} assignments are wrong"
        if first.rule is RuleId.FED_BACK:
            kind = Kind.FED_BACK
            cells = _feeding(subject, first.at)
            if cells:
                text += f"; what feeds it: {named_cells(cells)}"
                places += map(Place, cells)
        elif str(first.rule).startswith(("stack", "chain")):
            kind = Kind.STACKING
            said, others = culprits(subject, first)
            text += "".join(f"; {words}" for words in said)
            places += others
        yield Finding(
            kind,
            Severity.FAULT,
            tuple(dict.fromkeys([*places, *_cells_of(subject, mending)])),
            text,
            first.rule,
            MEDIUM_OF.get(first.rule),
            mending,
        )


def _output_of(fault: Fault) -> Cell | None:
    return fault.at if fault.rule is RuleId.FUNCTION else None


def _cells_of(subject: Subject, remedies: tuple[Remedy, ...]) -> list[Place]:
    """The cells that the best remedies change, and those of pins that they move: where to look."""
    now = {pin.name: pin.at for pin in subject.layout.pins}
    cells = [cell for remedy in remedies for cell in remedy.change.cells]
    return [Place(cell) for cell in cells] + [
        Place(now[pin.name]) for remedy in remedies for pin in remedy.change.pins
    ]


def _feeding(subject: Subject, at: Cell) -> list[Cell]:
    """The inverters and buffers that power the lead of the input at a cell."""
    for port in subject.settled.fabric.inputs:
        if port.pin.at == at and port.lead is not None:
            fabric = subject.settled.fabric
            found = [number for number in feeders(fabric, port.lead) if number != port.emitter]
            devices = (*fabric.inverters, *fabric.buffers)
            pins = {one.emitter: one.pin.at for one in fabric.inputs}
            return [devices[one] if one < len(devices) else pins[one] for one in found]
    return []
