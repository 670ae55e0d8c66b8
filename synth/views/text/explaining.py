"""How a layout works, in words."""

from __future__ import annotations

from synth.layout import Layout
from synth.medium import Cell
from synth.simulator.explaining.netlist import Node, NodeKind
from synth.simulator.explaining.timing import timing_words
from synth.spec.function_text import assignment_text, expression_of, function_text
from synth.views.explanation import Cause, Explanation, Gate
from synth.views.text.layers import columns
from synth.views.text.purpose import purpose_text
from synth.views.titles import title_of
from synth.words import WIDTH, filled, listed, ticks


def explain_text(found: Explanation, row: int | None = None, *, width: int = WIDTH) -> str:
    """Function, nodes, gates, critical path, and the chain of causes for one assignment.

    Args:
        row: the assignment of the chain of causes, in counting order; None for no chain.
    """
    sections = [
        filled(f"How {title_of(found.layout)} works", "  ", width=width),
        _function(found, width),
        _nodes(found),
        _gates(found, width),
        _critical(found, width),
    ]
    if row is not None:
        sections.append(causes_text(found, row, width=width))
    return "\n\n".join(section for section in sections if section)


def node_words(node: Node) -> str:
    """What a node is called: ``inverter (0, 0, 2)``, or the name of a pin."""
    if node.kind in (NodeKind.INPUT, NodeKind.OUTPUT):
        return node.name
    return f"{node.kind} {_cell(node.at)}"


def _function(found: Explanation, width: int) -> str:
    verdict = found.verdict
    names = [pin.name for pin in found.layout.inputs]
    lines = [
        filled(line, "  ", width=width) for line in function_text(verdict.outputs or {}, names)
    ]
    if found.as_made is not None:
        lines.append(filled(purpose_text(found.layout, found.as_made), "  ", width=width))
    if verdict.delay is not None:
        lines.append(timing_words(verdict.delay, "the outputs have settled"))
    elif found.layout.outputs:
        lines.append("It meets no delay: an output does not settle, or an input is fed back.")
    for loop in found.loops:
        members = [node_words(found.netlist.nodes[name]) for name in loop]
        does = "sees itself" if len(members) == 1 else "see each other in a circle"
        lines.append(filled(f"A loop: {listed(members)} {does}.", "  ", width=width))
    for node in found.netlist.holding:
        holders = ", ".join(node_words(found.netlist.nodes[name]) for name in node.held_by)
        lines.append(filled(f"{node_words(node)} can be held by {holders}.", "  ", width=width))
    return "\n".join(lines)


def _nodes(found: Explanation) -> str:
    rows = [
        (node_words(node), f"= {found.logic(node.name)}", sees_words(found, node))
        for node in found.nodes
        if node.kind is not NodeKind.INPUT
    ]
    if not rows:
        return ""
    idle = len(found.netlist.nodes) - len(found.useful | _input_names(found))
    lines = ["Nodes, starting from the inputs", *columns(rows)]
    if idle:
        names = ", ".join(
            node_words(node)
            for node in found.nodes
            if node.name not in found.useful and node.kind is not NodeKind.INPUT
        )
        lines.append(filled(f"  No output depends on {names}.", "    "))
    return "\n".join(lines)


def _input_names(found: Explanation) -> set[str]:
    return {pin.name for pin in found.layout.inputs}


def sees_words(found: Explanation, node: Node) -> str:
    """When a node is on or off: ``off while inverter (0, 0, 3) or buffer (2, 0, 3) is on``."""
    seen = [node_words(found.netlist.nodes[name]) for name in node.sees]
    state = "off" if node.kind is NodeKind.INVERTER else "on"
    if not seen:
        return (
            "always on: nothing powers its host" if state == "off" else "always off: sees nothing"
        )
    return f"{state} while {listed(seen, 'or')} is on"


def gate_words(found: Explanation, gate: Gate) -> str:
    """The nodes of a gate and what it computes: ``inverters (0,0,2), (0,0,3): and, a & b``."""
    nodes = [found.netlist.nodes[name] for name in gate.members]
    groups = []
    for kind in (NodeKind.INVERTER, NodeKind.BUFFER):
        cells = [_cell(node.at) for node in nodes if node.kind is kind]
        if cells:
            groups.append(f"{kind}{'s' if len(cells) > 1 else ''} {listed(cells)}")
    if nodes[0].kind is NodeKind.OUTPUT:
        groups.append(f"the wires joined at {nodes[0].name}")
    leaves = [_leaf(found, name) for name in gate.leaves]
    if not gate.column:
        return f"{listed(groups)}: a function of {len(leaves)} signals"
    logic = expression_of(gate.column, leaves)
    said = [word for word in (gate.element, logic) if word]
    return f"{listed(groups)}: {', '.join(said)}"


def _leaf(found: Explanation, name: str) -> str:
    """A short name for a signal: that of the pin, or kind and cell as one word."""
    node = found.netlist.nodes[name]
    return name if node.kind is NodeKind.INPUT else node_words(node).replace(" ", "")


def _gates(found: Explanation, width: int) -> str:
    if not found.gates:
        return ""
    lines = [filled(f"  - {gate_words(found, gate)}", "    ", width=width) for gate in found.gates]
    return "\n".join(["Gates", *lines])


def _critical(found: Explanation, width: int) -> str:
    if not found.critical:
        return ""
    words = []
    for name, since in zip(found.critical, found.critical_since, strict=True):
        node = found.netlist.nodes[name]
        words.append(f"{node_words(node)} [{since}]" if node.delay else node_words(node))
    return "\n".join(
        [
            f"Critical path, {ticks(found.ticks)}",
            filled("  " + " -> ".join(words), "    ", width=width),
        ]
    )


def causes_text(found: Explanation, row: int, *, width: int = WIDTH) -> str:
    """The chain of causes for an assignment, in the order in which things become certain."""
    names = [pin.name for pin in found.layout.inputs]
    lines = [f"Why, for {assignment_text(row, names)} from tick 0 on" if names else "Why"]
    for cause in found.causes(row):
        words = cause_words(found, cause)
        lead = f"  tick {cause.since}  "
        lines.append(filled(lead + words, " " * len(lead), width=width))
    return "\n".join(lines)


def cause_words(found: Explanation, cause: Cause) -> str:
    """One cause: whether a node is on or off, and what powers it or fails to."""
    node, nodes = cause.node, found.netlist.nodes
    said = f"{node_words(node)} is {'on' if cause.on else 'off'}"
    if node.kind is NodeKind.INPUT:
        return f"{said}: driven from outside"
    powered = cause.on is not (node.kind is NodeKind.INVERTER)
    what = {
        NodeKind.INVERTER: "its host",
        NodeKind.BUFFER: "its back",
        NodeKind.OUTPUT: "it",
    }[node.kind]
    if powered:
        (name,) = cause.because
        way = route_words(found.layout, node.routes[name])
        return f"{said}: {node_words(nodes[name])} powers {what}{way}"
    if not cause.because:
        return f"{said}: nothing can power {what}"
    seen = [node_words(nodes[name]) for name in cause.because]
    return (
        f"{said}: {what} has no power, because {listed(seen)} "
        f"{'is' if len(seen) == 1 else 'are'} off"
    )


def route_words(layout: Layout, route: tuple[Cell, ...]) -> str:
    """The way that power takes: `` over wire (1, 0, 3), solid (1, 0, 2)``; empty if direct."""
    words = []
    for cell in route:
        block = layout.cells.get(cell)
        words.append(f"{block.part} {_cell(cell)}" if block else f"the lead at {_cell(cell)}")
    return f" over {', '.join(words)}" if words else ""


def _cell(cell: Cell) -> str:
    return f"({cell[0]},{cell[1]},{cell[2]})"
