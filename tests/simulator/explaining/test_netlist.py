"""The netlist says what the play does: every node is the NOR or OR of what it sees."""

from __future__ import annotations

import json
from itertools import pairwise
from pathlib import Path

import pytest

from synth.errors import InputError
from synth.layout import Layout
from synth.medium import LEDGE, SOLID, WIRE, Role, Rules
from synth.simulator import trace
from synth.simulator.explaining.netlist import Netlist, NodeKind, netlist_of
from tests.simulator.build import box, enters, hung, leaves, to
from tests.stored import DATA, stored_layout

CASES = sorted((DATA.parent / "conformance").glob("*.json"))
XOR = stored_layout("xor2")


def check_against_trace(netlist: Netlist, document: dict[str, object]) -> None:
    """At every tick, what each node sees decides what it does (section 5), holding apart."""
    ticks = document["ticks"]
    assert isinstance(ticks, list)
    values: list[dict[str, bool]] = []
    for index, tick in enumerate(ticks):
        on = {tuple(cell) for cell in tick["on"]}
        now = {}
        for node in netlist.nodes.values():
            if node.kind is NodeKind.INPUT:
                now[node.name] = document["inputs"][node.name][index] == "1"  # type: ignore[index]
            elif node.kind is NodeKind.OUTPUT:
                now[node.name] = document["outputs"][node.name][index] == "1"  # type: ignore[index]
            else:
                now[node.name] = node.at in on
        values.append(now)
    for node in netlist.nodes.values():
        powered = [any(now[name] for name in node.sees) for now in values]
        own = [now[node.name] for now in values]
        if node.kind is NodeKind.OUTPUT:
            assert own == powered
        elif node.kind is NodeKind.INVERTER:
            assert own[1:] == [not power for power in powered[:-1]]
        elif node.kind is NodeKind.BUFFER and node.delay == 1 and not node.held_by:
            assert own[1:] == powered[:-1]


@pytest.mark.parametrize("path", CASES, ids=lambda path: path.stem)
def test_nodes_do_what_they_do_in_every_conformance_trace(path: Path) -> None:
    """The traces are those of another reading of the rules."""
    case = json.loads(path.read_text(encoding="utf-8"))
    layout = Layout.from_document(case["layout"])
    check_against_trace(netlist_of(layout), case["trace"])


def test_routes_are_steps_from_what_is_seen_to_who_sees_it() -> None:
    netlist = netlist_of(XOR)
    places = {node.name: node.at for node in netlist.nodes.values()}
    for pin in XOR.inputs:
        places[pin.name] = pin.outside
    for node in netlist.nodes.values():
        assert set(node.routes) == set(node.sees)
        for seen, route in node.routes.items():
            end = (
                next(pin.outside for pin in XOR.outputs if pin.name == node.name)
                if node.kind is NodeKind.OUTPUT
                else node.at
            )
            way = [places[seen], *route, end]
            for one, other in pairwise(way):
                steps = [abs(a - b) for a, b in zip(one, other, strict=True)]
                assert max(steps) <= 1
                assert sum(steps[:2]) <= 1


def test_the_netlist_of_an_exclusive_or() -> None:
    netlist = netlist_of(XOR)
    assert netlist.nodes["q"].sees == ("inverter_0_0_2", "inverter_3_0_1")
    assert netlist.nodes["inverter_0_0_2"].sees == ("inverter_0_0_3", "buffer_2_0_3")
    assert netlist.nodes["inverter_0_0_3"].sees == ("a",)
    assert netlist.ahead_of_outputs() == set(netlist.nodes)
    assert netlist.graph()["a"]["buffer_1_1_3"]["ticks"] == 1


def line_of_wires(length: int) -> Layout:
    cells = {(x, 0, 0): LEDGE for x in range(length)} | {(x, 0, 1): WIRE for x in range(length)}
    return box(
        (length, 1, 2), cells, enters("a", (0, 0, 1), "-x"), leaves("q", (length - 1, 0, 1), "+x")
    )


def test_power_ends_with_the_reach() -> None:
    """A lead, four wires and a lead: the last is five links from the first."""
    layout = line_of_wires(4)
    assert netlist_of(layout, Rules(reach=6)).nodes["q"].sees == ("a",)
    assert netlist_of(layout, Rules(reach=5)).nodes["q"].sees == ()


def test_holding_is_told_and_names_give_way_to_pins() -> None:
    layout = box(
        (2, 2, 2),
        {(0, 0, 0): LEDGE, (0, 0, 1): to("+x"), (0, 1, 0): LEDGE, (0, 1, 1): to("-y")},
        enters("buffer_0_1_1", (0, 0, 1), "-x"),
        leaves("q", (1, 0, 1), "+x"),
    )
    netlist = netlist_of(layout)
    (held,) = netlist.holding
    assert (held.at, held.held_by) == ((0, 0, 1), ("buffer_0_1_1_",))
    assert netlist.nodes["buffer_0_1_1"].kind is NodeKind.INPUT


def test_a_node_that_sees_nothing_sees_nothing() -> None:
    layout = box((2, 1, 1), {(0, 0, 0): SOLID, (1, 0, 0): hung("-x")})
    (node,) = netlist_of(layout).nodes.values()
    assert (node.sees, node.kind) == ((), NodeKind.INVERTER)
    assert trace(layout, {}, 3)["ticks"][1]["on"] == [[1, 0, 0]]


def test_an_illegal_layout_has_no_netlist() -> None:
    layout = box((1, 1, 1), {(0, 0, 0): WIRE})
    with pytest.raises(InputError, match="not legal"):
        netlist_of(layout)


def test_pins_come_in_their_order() -> None:
    kinds = [node.kind for node in netlist_of(XOR).nodes.values()]
    assert kinds.index(NodeKind.OUTPUT) == len(kinds) - 1
    inputs = [pin.name for pin in XOR.pins if pin.role is Role.INPUT]
    assert list(netlist_of(XOR).nodes)[:2] == inputs
