"""Slices placed in steps: what comes is right, in rows as well, and keeps what is asked."""

from __future__ import annotations

from itertools import islice

import pytest

from synth.layout import Layout
from synth.medium import ChainLink, Direction, Joint, Part
from synth.questions.problem import Problem
from synth.search.placing.stepped import stepped
from synth.simulator import check
from synth.simulator.rows import row_verdict
from synth.spec import Limits, PinDemand, Spec

AND_SLICE = Spec.parse("co = a & ci", stack="x", chain=[("co", "ci")], joint="buffer", delay=6)


def placed(spec: Spec, own: Limits | None = None) -> Layout | None:
    """The first slice that comes within some tries, or None."""
    problem, _ = Problem.of(spec)
    tries = islice(stepped(problem, own or spec.limits), 60)
    return next((found for found in tries if found is not None), None)


@pytest.mark.parametrize("ground", [False, True])
def test_a_slice_is_right_alone_and_in_a_row(ground: bool) -> None:
    spec = AND_SLICE.replace(ground=ground)
    layout = placed(spec)
    assert layout is not None
    verdict = check(layout, spec)
    assert verdict.passes, verdict.faults
    row = row_verdict(layout, verdict, spec.replace(limits=Limits()), 4, (None, None))
    assert row.passes, row.wrong


def test_the_buffer_of_the_link_stands_alone_at_the_end() -> None:
    layout = placed(AND_SLICE)
    assert layout is not None
    assert layout.stack is not None
    assert layout.stack.chain == (ChainLink("co", "ci"),)
    last = {cell: block for cell, block in layout.cells.items() if cell[0] == layout.length - 1}
    assert {block.part for block in last.values()} == {Part.BUFFER, Part.LEDGE}
    assert len(last) == 2
    pins = {pin.name: pin for pin in layout.pins}
    assert pins["ci"].at[1:] == pins["co"].at[1:]
    assert pins["a"].face.axis == "y"
    assert pins["a"].joint is Joint.BUFFER


def test_close_steps_are_as_short_as_can_be() -> None:
    """A parity is two exclusive-ors, its link where the last one likes it."""
    spec = Spec.parse(
        "co = a ^ b ^ ci", stack="x", chain=[("co", "ci")], joint="buffer", delay=8
    ).replace(limits=Limits(delay=8, length=8))
    layout = placed(spec)
    assert layout is not None
    assert layout.length == 8
    verdict = check(layout, spec)
    assert verdict.passes, verdict.faults
    row = row_verdict(layout, verdict, spec.replace(limits=Limits()), 4, (None, None))
    assert row.passes, row.wrong
    # Between the steps, and at the end, stand buffers and what they lie on.
    for seam in (3, 7):
        there = {block.part for cell, block in layout.cells.items() if cell[0] == seam}
        assert there == {Part.BUFFER, Part.LEDGE}


def test_faces_that_are_asked_are_kept() -> None:
    asked = PinDemand((Direction.NY,), None, Joint.BUFFER)
    layout = placed(AND_SLICE.replace(pins={**AND_SLICE.pins, "a": asked}))
    assert layout is not None
    assert next(pin for pin in layout.pins if pin.name == "a").face is Direction.NY


def test_a_link_delay_that_no_network_keeps_is_not_tried() -> None:
    spec = AND_SLICE.replace(limits=Limits(delay=6, link_delay=2))
    problem, _ = Problem.of(spec)
    assert list(stepped(problem, spec.limits)) == []


@pytest.mark.parametrize(
    "spec",
    [
        AND_SLICE.replace(limits=Limits(delay=6, width=1)),
        AND_SLICE.replace(limits=Limits(delay=6, height=4)),
        Spec.parse("co = a & ci", stack="y", chain=[("co", "ci")], joint="buffer", delay=6),
        Spec.parse("co = a & ci", joint="buffer", delay=6),
    ],
)
def test_nothing_is_tried_where_no_step_has_room(spec: Spec) -> None:
    problem, _ = Problem.of(spec)
    assert list(stepped(problem, spec.limits)) == []


def test_boxes_of_no_use_are_left_out() -> None:
    problem, _ = Problem.of(AND_SLICE)
    assert list(stepped(problem, AND_SLICE.limits, fits=lambda size: False)) == []


@pytest.mark.parametrize("link_delay", [3, 4])
def test_a_limit_on_the_link_delay_is_kept(link_delay: int) -> None:
    spec = AND_SLICE.replace(limits=Limits(delay=9, link_delay=link_delay))
    layout = placed(spec)
    assert layout is not None
    verdict = check(layout, spec)
    assert verdict.passes, verdict.faults
    assert verdict.link_delay is not None
    assert verdict.link_delay <= link_delay
