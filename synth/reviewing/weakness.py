"""Wires whose strength is just enough, and signals that die out on their way."""

from __future__ import annotations

from collections.abc import Iterator

from synth.medium import Cell
from synth.reviewing.feeding import backwards
from synth.reviewing.finding import Finding, Kind, Place, Severity
from synth.reviewing.subject import Subject
from synth.simulator.explaining.reasons import show_cell
from synth.simulator.fabric import Fabric, InputPort, OutputPort, Table
from synth.simulator.power import powered_wires
from synth.simulator.wanted import rows_of


def weak_findings(subject: Subject) -> Iterator[Finding]:
    """Wires of strength 1 that something looks at, and wires that power does not quite reach.

    "Looks at": a buffer or an output, or a solid that one of them or an inverter looks at.
    """
    settled, rules = subject.settled, subject.rules
    fabric, on = settled.fabric, settled.ticks[-1].sure.on
    powered = powered_wires(fabric, on, rules.reach)
    one_less = powered_wires(fabric, on, rules.reach - 1) if rules.reach > 1 else [0] * len(powered)
    unfading = powered_wires(fabric, on, None)
    for wire in sorted(_looked_at(fabric)):
        weak = powered[wire] & ~one_less[wire]
        dead = unfading[wire] & ~powered[wire]
        at = _cell(fabric, wire)
        name = f"the wire at {show_cell(at)}" if wire < fabric.box_wires else "the lead"
        if dead:
            where = subject.wanted.assignment(rows_of(dead)[0])
            text = (
                f"power for {name} dies out on the way at {where}: it is more than "
                f"{rules.reach - 1} links from what powers it"
            )
            # Where the power ends: the nearest wire backwards that still has it.
            last = next(one for one in backwards(fabric, wire) if powered[one] & dead)
            text += f"; it ends at {show_cell(_cell(fabric, last))}"
            places = tuple(map(Place, dict.fromkeys([at, _cell(fabric, last)])))
            yield Finding(Kind.WEAK, Severity.WARNING, places, text, medium="4 along links")
        elif weak:
            where = subject.wanted.assignment(rows_of(weak)[0])
            text = (
                f"{name} is one step from too weak: it has strength 1 at {where}, and one link "
                "more would leave nothing"
            )
            yield Finding(Kind.WEAK, Severity.WARNING, (Place(at),), text, medium="4 along links")


def _looked_at(fabric: Fabric) -> set[int]:
    """The wires that count for an inverter, a buffer or an output, without another wire between."""
    sights = [
        sight for sight in (*fabric.backs, *(p.sight for p in fabric.outputs)) if sight is not None
    ]
    solids = {*fabric.hosts, *(one.index for one in sights if one.table is Table.CHARGED)}
    wires = {one.index for one in sights if one.table is Table.POWERED}
    return wires.union(*(fabric.chargers[solid] for solid in solids))


def _cell(fabric: Fabric, wire: int) -> Cell:
    """The cell of a wire; of a lead, the cell of its pin."""
    if wire < fabric.box_wires:
        return fabric.wires[wire]
    ports: tuple[InputPort | OutputPort, ...] = (*fabric.inputs, *fabric.outputs)
    return next(port.pin.at for port in ports if port.lead == wire)
