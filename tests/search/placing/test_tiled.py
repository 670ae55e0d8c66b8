"""Sums of products in tiles along rails: right within three ticks, two cells wide, stacked."""

from __future__ import annotations

import pytest

from synth.layout import Layout
from synth.medium import Direction, Joint
from synth.questions.problem import Problem
from synth.search.placing.tiled import HEIGHT, TICKS, WIDTH, Plan, Tiling, tiled
from synth.simulator import check
from synth.spec import Limits, PinDemand, Spec
from tests.reading.plain import verdict
from tests.search.placing.tries import returned

XOR = Spec.parse("q = a ^ b", stack="y", joint="buffer", width=WIDTH, delay=TICKS)


def placed(spec: Spec) -> Layout | None:
    """The first layout of the first rounds, or None."""
    problem, _ = Problem.of(spec)
    return next((found for found in tiled(problem, spec.limits) if found is not None), None)


def test_two_tiles_are_right_within_three_ticks_and_stack() -> None:
    layout = placed(XOR)
    assert layout is not None
    found = check(layout, XOR)
    assert found.passes, found.faults
    assert found.delay == TICKS
    assert layout.size[1:] == (WIDTH, HEIGHT)
    plain = verdict(layout, dict(XOR.function.outputs))
    assert (plain.legal, plain.function, plain.delay) == (True, True, TICKS)


def test_pins_may_be_on_the_other_sides_and_have_wire_joints() -> None:
    spec = Spec.parse(
        "q = a ^ b",
        stack="y",
        joint="wire",
        width=WIDTH,
        delay=TICKS,
        input_faces="+x",
        output_faces="-x",
    )
    layout = placed(spec)
    assert layout is not None
    assert check(layout, spec).passes
    assert {pin.face for pin in layout.inputs} == {Direction.PX}
    assert {pin.joint for pin in layout.pins} == {Joint.WIRE}


def test_inputs_come_to_the_last_of_four_tiles_by_buffers() -> None:
    """More products than the function needs, each with few literals: they are soon placed."""
    spec = Spec.parse(
        "q = a & b | ~a & ~b | a & ~c | b", stack="y", joint="buffer", width=WIDTH, delay=TICKS
    )
    problem, _ = Problem.of(spec)
    work = Tiling(problem, spec, 0, lambda size: True)
    work.rounds = 1
    products = (
        (("a", True), ("b", True)),
        (("a", False), ("b", False)),
        (("a", True), ("c", False)),
        (("b", True),),
    )
    layout = returned(work.row(Plan((("a", "a"), ("b", "b"), ("c", "c")), products)))
    assert layout is not None
    found = check(layout, spec)
    assert found.passes, found.faults
    assert found.delay == TICKS


@pytest.mark.parametrize(
    "spec",
    [
        XOR.replace(limits=Limits(width=WIDTH, delay=TICKS - 1)),
        XOR.replace(limits=Limits(width=WIDTH, delay=TICKS, height=HEIGHT - 1)),
        XOR.replace(limits=Limits(width=1, delay=TICKS)),
        XOR.replace(stack=None),
        Spec.parse("q = a & b", stack="y", joint="buffer", width=WIDTH, delay=TICKS),
        Spec.parse("p = a ^ b; q = a & b", stack="y", joint="buffer", width=WIDTH, delay=TICKS),
        XOR.replace(pins={name: PinDemand((Direction.NX,)) for name in XOR.pin_names}),
        Spec.parse("q = a ^ b ^ c ^ d", stack="y", joint="buffer", width=WIDTH, delay=TICKS),
    ],
)
def test_nothing_is_tried_where_tiles_cannot_be_what_is_asked(spec: Spec) -> None:
    problem, _ = Problem.of(spec)
    assert list(tiled(problem, spec.limits)) == []


def test_boxes_of_no_use_are_left_out() -> None:
    problem, _ = Problem.of(XOR)
    assert list(tiled(problem, XOR.limits, fits=lambda size: False)) == []
