"""What is said of how a layout works is what the simulator finds."""

from __future__ import annotations

import json
import re
from itertools import combinations
from pathlib import Path
from xml.etree import ElementTree

import networkx as nx
import pytest

from synth.errors import InputError
from synth.layout import Layout
from synth.medium import LEDGE, SOLID, WIRE
from synth.simulator import check
from synth.simulator.explaining.netlist import NodeKind
from synth.views.drawing.netlist import netlist_dot, netlist_picture
from synth.views.explanation import Explanation, explain
from synth.views.text.explaining import causes_text, explain_text
from tests.fuzz.large import chain
from tests.simulator.build import box, enters, hung, leaves
from tests.stored import stored_layout
from tests.views.golden import check_golden

TESTS = Path(__file__).parent.parent
XOR = stored_layout("xor2")
CONFORMANCE = sorted((TESTS / "conformance").glob("mixed-*.json"))[:30]


@pytest.fixture(scope="module")
def xor() -> Explanation:
    return explain(XOR)


def settled_layouts() -> list[Layout]:
    cases = [json.loads(path.read_text(encoding="utf-8"))["layout"] for path in CONFORMANCE]
    return [XOR, *map(Layout.from_document, cases)]


@pytest.mark.parametrize("layout", settled_layouts(), ids=range(1 + len(CONFORMANCE)))
def test_columns_gates_and_causes_agree_with_the_settled_play(layout: Layout) -> None:
    found = explain(layout)
    verdict = check(layout)
    assert verdict.outputs is not None
    for name, column in verdict.outputs.items():
        assert found.column(name) == column
    rows = range(1 << len(layout.inputs))
    for gate in found.gates:
        if not gate.column:
            continue
        for row in rows:
            leaves = [found.column(name)[row] for name in gate.leaves]
            if "x" not in leaves:
                value = gate.column[int("0" + "".join(leaves), 2)]
                assert found.column(gate.root)[row] == value
    for row in rows:
        if any(column[row] == "x" for column in verdict.outputs.values()):
            with pytest.raises(InputError, match="does not settle"):
                found.causes(row)
            continue
        known: dict[str, bool] = {}
        for cause in found.causes(row):
            # Nothing is said before what it rests on, and it follows from that.
            if cause.node.kind is NodeKind.INPUT:
                assert cause.on == (found.column(cause.node.name)[row] == "1")
            else:
                powered = any(known[name] for name in cause.because)
                assert powered or set(cause.because) == set(cause.node.sees)
                assert cause.on == (powered is not (cause.node.kind is NodeKind.INVERTER))
            known[cause.node.name] = cause.on
        for name, column in verdict.outputs.items():
            assert known[name] == (column[row] == "1")
    # Whatever loops there are, text and drawings come out, and the drawing is well formed.
    assert explain_text(found)
    for row in (None, 0):
        document = netlist_picture(found, row).document("netlist")
        boxes = text_boxes(ElementTree.fromstring(document.encode()))
        for (one, first), (other, second) in combinations(boxes, 2):
            assert not touch(one, other), (first, second)


Box = tuple[float, float, float, float]


def text_boxes(
    node: ElementTree.Element, x: float = 0, y: float = 0, scale: float = 1
) -> list[tuple[Box, str]]:
    """Where every text of a drawing stands: left, top, right, bottom."""
    shift = re.findall(r"translate\(([-\d.]+) ([-\d.]+)\)", node.get("transform", ""))
    for right, down in shift:
        x, y = x + scale * float(right), y + scale * float(down)
    for factor in re.findall(r"scale\(([\d.]+)\)", node.get("transform", "")):
        scale *= float(factor)
    found = []
    if node.tag.endswith("}text") and node.text:
        size = float(node.attrib["font-size"])
        # Letters of the font are wider than this on the average of a word, but not much.
        wide = 0.55 * size * len(node.text)
        left = float(node.attrib["x"])
        left -= {"start": 0.0, "middle": wide / 2, "end": wide}[node.attrib["text-anchor"]]
        base = float(node.attrib["y"])
        edges = (left, base - 0.75 * size, left + wide, base + 0.2 * size)
        box = tuple(at + scale * edge for at, edge in zip((x, y, x, y), edges, strict=True))
        found.append((box, node.text))
    for child in node:
        found += text_boxes(child, x, y, scale)
    return found  # type: ignore[return-value]


def touch(one: Box, other: Box) -> bool:
    return (
        one[0] < other[2] and other[0] < one[2] and one[1] < other[3] and other[1] < one[3]
    )  # fmt: skip


def test_gates_of_an_exclusive_or(xor: Explanation) -> None:
    """Section 10 of the medium: two does-not-imply gates joined make an exclusive-or."""
    assert [gate.element for gate in xor.gates] == ["does-not-imply2", "does-not-imply2", "or2"]
    members = [name for gate in xor.gates for name in gate.members]
    assert len(members) == len(set(members)) == 7
    assert xor.logic("inverter_0_0_2") == "a & ~b"
    assert xor.logic("q") == "a ^ b"


def test_critical_path_is_a_longest_one(xor: Explanation) -> None:
    assert xor.ticks == xor.verdict.delay == 2
    assert xor.critical[0] in ("a", "b")
    assert xor.critical[-1] == "q"
    assert nx.is_path(xor.graph, xor.critical)


def test_text_of_the_explanation(xor: Explanation) -> None:
    check_golden("explain_xor2", explain_text(xor, 2))


def test_a_loop_and_idle_nodes_are_told() -> None:
    """An inverter that sees itself, and nothing that reads it."""
    layout = box(
        (2, 1, 3),
        {
            (0, 0, 1): SOLID,
            (1, 0, 1): hung("-x"),
            (1, 0, 2): SOLID,
            (0, 0, 2): WIRE,
        },
        leaves("q", (0, 0, 2), "-x"),
    )
    found = explain(layout)
    assert found.loops == [["inverter_1_0_1"]]
    assert found.critical == ()
    text = explain_text(found)
    assert "A loop: inverter (1,0,1) sees itself." in text
    assert "never settles" in text
    with pytest.raises(InputError, match="does not settle"):
        causes_text(found, 0)
    assert "stroke-dasharray" in netlist_picture(found).body


def test_nodes_no_output_depends_on_are_named() -> None:
    layout = box(
        (3, 1, 2),
        {(0, 0, 0): LEDGE, (0, 0, 1): WIRE, (1, 0, 1): SOLID, (2, 0, 1): hung("-x")},
        enters("a", (0, 0, 1), "-x"),
    )
    assert "No output depends on inverter (2,0,1)." in explain_text(explain(layout))


def test_graph_for_other_programs_has_every_node_and_edge(xor: Explanation) -> None:
    dot = netlist_dot(xor)
    edges = sum(len(node.sees) for node in xor.netlist.nodes.values())
    assert dot.count(" -> ") == edges
    for name in xor.netlist.nodes:
        assert f'"{name}" [' in dot


def test_drawing_shows_every_node_once(xor: Explanation) -> None:
    svg = netlist_picture(xor, 3).document("netlist")
    for node in xor.netlist.nodes.values():
        if node.kind in (NodeKind.INVERTER, NodeKind.BUFFER):
            x, y, z = node.at
            assert svg.count(f">{node.kind} ({x},{y},{z})<") == 1


def test_a_chain_longer_than_python_recurses_is_one_gate() -> None:
    found = explain(Layout.from_document(chain(62, 6, 1)))
    assert len(found.netlist.nodes) > 360
    assert [gate.column for gate in found.gates] == ["01"]
