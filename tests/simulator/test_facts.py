"""Section 10: facts of the trade. Common practice, no published source."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

from synth.layout import Layout, Stack
from synth.medium import LEDGE, SOLID, WIRE, Cell, Direction, Part, RuleId
from synth.simulator import check
from synth.simulator.explaining.netlist import NodeKind, netlist_of
from synth.spec import BooleanFunction, Spec
from tests.simulator.build import STANDING, box, enters, hung, leaves


def does_not_imply() -> Layout:
    """``a & ~b`` by two inverters: the lower turns ``a`` round and drives the host above it."""
    return box(
        (3, 1, 2),
        {(0, 0, 0): SOLID, (1, 0, 0): hung("-x"), (1, 0, 1): SOLID, (2, 0, 1): hung("-x")},
        enters("a", (0, 0, 0), "-x"),
        enters("b", (1, 0, 1), "-y", "buffer"),
        leaves("q", (2, 0, 1), "+x"),
    )


def exclusive_or() -> Layout:
    """Two such gates, their outputs joined on one wire.

    ``a`` runs along y = 1 over the hosts of the first inverter of one gate and of the second of
    the other, ``b`` along y = 4 likewise. Solids above the wires between the inverters of a gate
    keep those from climbing to the inputs, and two more keep the output from it.
    """
    cells = {
        (0, 1, 0): SOLID,
        (1, 1, 0): LEDGE,
        (2, 1, 0): SOLID,
        (0, 4, 0): SOLID,
        (1, 4, 0): LEDGE,
        (2, 4, 0): SOLID,
        # b & ~a ends at (2, 0, 0), a & ~b at (0, 5, 0).
        (0, 2, 0): hung("-y"),
        (0, 3, 0): WIRE,
        (0, 3, 1): SOLID,
        (0, 5, 0): hung("-y"),
        (2, 3, 0): hung("+y"),
        (2, 2, 0): WIRE,
        (2, 2, 1): SOLID,
        (2, 0, 0): hung("+y"),
        (1, 5, 1): SOLID,
        (2, 5, 1): SOLID,
    }
    cells |= dict.fromkeys(((x, y, 1) for x in range(3) for y in (1, 4)), WIRE)
    cells |= dict.fromkeys(((x, 5, 0) for x in range(1, 4)), WIRE)
    cells |= dict.fromkeys(((4, y, 0) for y in range(6)), WIRE)
    cells[3, 0, 0] = WIRE
    return box(
        (5, 6, 2),
        cells,
        enters("a", (0, 1, 1), "-x"),
        enters("b", (0, 4, 1), "-x"),
        leaves("q", (4, 2, 0), "+x"),
        ground=True,
    )


def asked(column: str, ground: bool = False) -> Spec:
    return Spec(BooleanFunction(("a", "b"), {"q": column}), ground=ground)


def test_does_not_imply_settles_in_two_ticks() -> None:
    verdict = check(does_not_imply())
    assert verdict.outputs == {"q": "0010"}
    assert (verdict.delay, verdict.passes) == (2, True)


def test_two_of_them_make_an_exclusive_or_that_settles_in_two_ticks() -> None:
    verdict = check(exclusive_or(), asked("0110", ground=True), delay=2)
    assert verdict.faults == ()
    assert (verdict.function, verdict.delay) == (True, 2)


def test_a_standing_inverter_beside_the_edge_feeds_the_next_copys_wire() -> None:
    cells = {(0, 0, 0): LEDGE, (0, 0, 1): WIRE, (0, 1, 0): SOLID, (0, 1, 1): STANDING}
    verdict = check(box((1, 2, 2), cells, stack=Stack("y", 2)))
    assert verdict.stacks is False
    assert (RuleId.STACK_INVERTER, (0, 1, 1)) in {(f.rule, f.at) for f in verdict.faults}


def test_one_hung_with_no_cell_of_the_next_copy_beside_it_does_not() -> None:
    cells = {(0, 0, 0): LEDGE, (0, 0, 1): WIRE, (0, 1, 1): hung("+y"), (0, 2, 1): SOLID}
    verdict = check(box((1, 3, 2), cells, stack=Stack("y", 3)))
    assert verdict.stacks is True


BY_HAND = Layout.load(Path(__file__).parents[1] / "data" / "xor2_5x2x5.json")
"""A layout of the size that section 10 tells of; which one builders make is not published, so this
one was found by search, with the same means."""


def rests(layout: Layout, part: Part, on: Part) -> list[Cell]:
    """Cells of blocks of one kind on which a part of another kind lies."""
    return [
        cell
        for cell, block in layout.cells.items()
        if block.part is on
        and (above := layout.cells.get(Direction.PZ.step(cell))) is not None
        and above.part is part
    ]


def test_by_hand_an_exclusive_or_takes_five_by_two_by_five() -> None:
    """2-wide, stackable, 2 ticks, as section 10 says; and every means that it names is there."""
    assert BY_HAND.size == (5, 2, 5)
    assert BY_HAND.stack == Stack("y", 2)
    faces = {pin.face for pin in BY_HAND.pins}
    assert faces <= {Direction.NX, Direction.PX}
    verdict = check(BY_HAND, asked("0110"), delay=2)
    assert verdict.faults == ()
    assert (verdict.function, verdict.stacks, verdict.delay) == (True, True, 2)
    # A ledge under a buffer; a buffer that lets a signal into what an inverter powers, one way.
    assert rests(BY_HAND, Part.BUFFER, Part.LEDGE)
    nodes = netlist_of(BY_HAND).nodes
    seen = [{nodes[name].kind for name in node.sees} for node in nodes.values()]
    assert {NodeKind.INVERTER, NodeKind.BUFFER} in seen


def test_a_wire_passes_over_an_inverter_that_is_on_only_on_a_see_through_support() -> None:
    """With a solid between them the inverter would drive it, and the wire have power."""
    supports = [
        cell
        for cell in rests(BY_HAND, Part.WIRE, Part.CLEAR)
        if (below := BY_HAND.cells.get(Direction.NZ.step(cell))) is not None
        and below.part is Part.INVERTER
    ]
    assert supports
    for cell in supports:
        opaque = replace(BY_HAND, cells={**BY_HAND.cells, cell: SOLID})
        assert not check(opaque, asked("0110"), delay=2).passes
