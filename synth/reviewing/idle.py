"""Parts that do nothing: the simulator plays the layout without each, and nothing changes."""

from __future__ import annotations

from collections.abc import Sequence

from synth.medium import Cell, Part
from synth.reviewing.change import Change, sound_around
from synth.reviewing.finding import Finding, Kind, Place, Remedy, Severity
from synth.reviewing.subject import Effort, Subject
from synth.simulator.explaining.netlist import NodeKind, netlist_of
from synth.simulator.explaining.reasons import show_cell
from synth.words import counted


def idle_findings(subject: Subject, effort: Effort) -> tuple[list[Finding], list[str]]:
    """One finding for each part that can be taken out by itself, and what was not tried.

    Parts that no signal on its way to an output passes are tried first.
    """
    layout = subject.layout
    kept = frozenset() if subject.spec is None else frozenset(subject.spec.fixed)
    found: list[Cell] = []
    untried = 0
    for cell in _order(subject):
        if cell in kept:
            continue
        without = layout.with_cells({cell: None})
        if not sound_around(without, [cell]):
            continue
        if layout.cells[cell].part in (Part.CLEAR, Part.LEDGE):
            found.append(cell)  # It is never charged, stops no link and bears nothing any more.
        elif not effort.spend(subject.cost):
            untried += 1
        elif _changes_nothing(subject, cell, effort):
            found.append(cell)
    left_out = []
    if untried:
        left_out.append(
            f"parts that do nothing: {counted(untried, 'part')} not tried, those likeliest to be "
            "needed"
        )
    return [_finding(subject, cell) for cell in sorted(found)], left_out


def _changes_nothing(subject: Subject, cell: Cell, effort: Effort) -> bool:
    without = subject.layout.with_cells({cell: None})
    before = subject.verdict
    if before.passes and subject.wrong_alone(without, before.delay):
        return False
    effort.judged(subject)
    after = subject.judge(without)
    return after is not None and subject.all_the_same(after)


def _order(subject: Subject) -> Sequence[Cell]:
    """All cells that hold something; first those that no signal for an output passes."""
    netlist = netlist_of(subject.layout, subject.rules)
    needed = netlist.ahead_of_outputs()
    passed: set[Cell] = set()
    for name in needed:
        node = netlist.nodes[name]
        if node.kind in (NodeKind.INVERTER, NodeKind.BUFFER):
            passed.add(node.at)
        for route in node.routes.values():
            passed.update(route)
    return sorted(subject.layout.cells, key=lambda cell: (cell in passed, cell))


def _finding(subject: Subject, cell: Cell) -> Finding:
    block = subject.layout.cells[cell]
    change = Change({cell: None})
    text = f"the {block.part} at {show_cell(cell)} does nothing: without it, all is as it is"
    remedy = Remedy(change, change.words(subject.layout), subject.verdict.passes)
    return Finding(Kind.IDLE, Severity.WARNING, (Place(cell),), text, remedies=(remedy,))
