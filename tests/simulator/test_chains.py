"""Section 11: where links are, how long a slice takes after them, and rows of whole copies."""

from __future__ import annotations

import pytest

from synth.layout import Layout, Pin, Stack
from synth.medium import (
    LEDGE,
    WIRE,
    Block,
    Cell,
    ChainLink,
    Direction,
    Joint,
    Role,
    RuleId,
    buffer,
)
from synth.simulator import check
from synth.spec import Spec

CHAIN = (ChainLink("co", "ci"),)


def slice_of(cells: dict[Cell, Block], width: int, height: int, *pins: Pin, z: int = 1) -> Layout:
    """A slice along y, one cell long, whose link lies at height ``z``."""
    link = (
        Pin("ci", Role.INPUT, (0, 0, z), Direction.NY, Joint.BUFFER),
        Pin("co", Role.OUTPUT, (0, width - 1, z), Direction.PY, Joint.BUFFER),
    )
    return Layout((1, width, height), cells, (*pins, *link), Stack("y", width, CHAIN))


A = Pin("a", Role.INPUT, (0, 0, 1), Direction.PX, Joint.BUFFER)
A_LEFT = Pin("a", Role.INPUT, (0, 0, 1), Direction.NX, Joint.BUFFER)
ON_LEDGES: dict[Cell, Block] = {
    (0, 0, 0): LEDGE,
    (0, 0, 1): WIRE,
    (0, 1, 0): LEDGE,
    (0, 1, 1): buffer(Direction.PY),
}
ANY = slice_of(ON_LEDGES, 2, 2, A)
"""On from the first copy on whose ``a`` is on."""


def faults_of(layout: Layout) -> set[RuleId]:
    return {fault.rule for fault in check(layout).faults}


def test_a_wire_and_a_buffer_make_a_slice() -> None:
    spec = Spec.parse("co = a | ci", stack="y", chain="co:ci")
    verdict = check(ANY, spec)
    assert verdict.passes
    assert (verdict.delay, verdict.link_delay, verdict.chained) == (1, 1, True)
    assert verdict.document()["link_delay"] == 1


def test_a_single_cell_is_a_slice_too() -> None:
    """Its buffer is the link's, and in front of it is itself in the next copy."""
    layout = slice_of({(0, 0, 0): LEDGE, (0, 0, 1): buffer(Direction.PY)}, 1, 2)
    verdict = check(layout, Spec.parse("co = ci", stack="y", chain="co:ci"))
    assert verdict.passes
    assert verdict.link_delay == 1


def test_other_inputs_may_be_slower_than_the_link() -> None:
    """``a`` goes through two buffers, and the link waits for neither."""
    cells = {
        (0, 0, 0): LEDGE,
        (0, 0, 1): WIRE,
        (0, 1, 0): LEDGE,
        (0, 1, 1): WIRE,
        (0, 2, 0): LEDGE,
        (0, 2, 1): buffer(Direction.PY),
        (1, 1, 0): LEDGE,
        (1, 1, 1): buffer(Direction.NX, 2),
    }
    a = Pin("a", Role.INPUT, (1, 1, 1), Direction.PX, Joint.BUFFER)
    layout = slice_of({}, 3, 2).replace(size=(2, 3, 2), cells=cells)
    layout = layout.replace(pins=(a, *layout.pins))
    verdict = check(layout, Spec.parse("co = a | ci", stack="y", chain="co:ci"))
    assert verdict.passes
    assert (verdict.delay, verdict.link_delay) == (4, 1)


@pytest.mark.parametrize("asked", [0, 1])
def test_a_link_delay_is_a_limit(asked: int) -> None:
    verdict = check(ANY, link_delay=asked)
    assert verdict.passes is (asked == 1)
    assert {fault.rule for fault in verdict.faults} == (set() if asked else {RuleId.LINK_DELAY})


BROKEN: dict[str, tuple[Layout, RuleId]] = {
    "no buffer": (slice_of({**ON_LEDGES, (0, 1, 1): WIRE}, 2, 2, A), RuleId.CHAIN_PLACE),
    "a slow buffer": (
        slice_of({**ON_LEDGES, (0, 1, 1): buffer(Direction.PY, 2)}, 2, 2, A),
        RuleId.CHAIN_PLACE,
    ),
    "a buffer the other way": (
        slice_of({**ON_LEDGES, (0, 1, 1): buffer(Direction.NY)}, 2, 2, A),
        RuleId.CHAIN_PLACE,
    ),
    "another height": (
        ANY.replace(
            pins=(ANY.pins[0], Pin("ci", Role.INPUT, (0, 0, 0), Direction.NY), ANY.pins[2])
        ),
        RuleId.CHAIN_PLACE,
    ),
    "a wire joint": (
        ANY.replace(
            pins=(ANY.pins[0], Pin("ci", Role.INPUT, (0, 0, 1), Direction.NY), ANY.pins[2])
        ),
        RuleId.CHAIN_FACE,
    ),
    "another face": (
        ANY.replace(
            pins=(
                ANY.pins[0],
                Pin("ci", Role.INPUT, (0, 0, 1), Direction.NX, Joint.BUFFER),
                ANY.pins[2],
            )
        ),
        RuleId.CHAIN_FACE,
    ),
    "a gap": (ANY.replace(stack=Stack("y", 3, CHAIN)), RuleId.CHAIN_PITCH),
    "another pin on the side": (
        ANY.replace(
            size=(1, 2, 5),
            pins=(*ANY.pins, Pin("b", Role.INPUT, (0, 0, 4), Direction.NY, Joint.BUFFER)),
        ),
        RuleId.STACK_PIN,
    ),
    "a second buffer across": (
        slice_of({**ON_LEDGES, (0, 1, 2): LEDGE, (0, 1, 3): buffer(Direction.PY)}, 2, 4, A),
        RuleId.STACK_BUFFER,
    ),
}


@pytest.mark.parametrize("name", BROKEN)
def test_a_slice_that_breaks_a_rule_is_told_so(name: str) -> None:
    layout, rule = BROKEN[name]
    assert rule in faults_of(layout)
    assert faults_of(ANY) == set()


def test_only_the_link_joins_copies() -> None:
    """A wire along the slice, beside the link, would join those of all copies."""
    beside: dict[Cell, Block] = {(1, y, z): (LEDGE, WIRE)[z] for y in range(2) for z in range(2)}
    layout = ANY.replace(
        size=(2, 2, 2), cells={**ON_LEDGES, **beside}, pins=(A_LEFT, *ANY.pins[1:])
    )
    assert faults_of(layout) == {RuleId.STACK_LINK}
    alone = layout.with_cells({(1, 1, 1): None})
    assert faults_of(alone) == set()
