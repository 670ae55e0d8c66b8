"""Slices placed along rails: what comes is right, in rows as well, and keeps what is asked."""

from __future__ import annotations

from dataclasses import replace
from itertools import islice

import pytest

from synth.bounds import least_link_delay
from synth.layout import Layout
from synth.medium import Joint, Part
from synth.questions.problem import Problem
from synth.search.placing.railed import BOXES, LANE, LOWEST, railed
from synth.simulator import check
from synth.simulator.rows import row_verdict
from synth.spec import Limits, Spec
from synth.spec.targets import load_target

LIMITS = Limits(delay=8, link_delay=3)
AND = Spec.parse("co = a & ci", stack="x", chain=[("co", "ci")], joint="buffer").replace(
    limits=LIMITS
)
TRIES = 60


def placed(spec: Spec) -> Layout | None:
    """The first slice that comes within some tries, or None."""
    problem, _ = Problem.of(spec)
    tries = islice(railed(problem, spec.limits), TRIES)
    return next((found for found in tries if found is not None), None)


@pytest.fixture(scope="module")
def adder() -> tuple[Spec, Layout]:
    """A slice with all three parts, and the least link delay that it can have."""
    spec = load_target("full-adder-slice")
    pins = {name: replace(ask, joint=Joint.BUFFER) for name, ask in spec.pins.items()}
    spec = spec.replace(pins=pins, limits=Limits(width=2, delay=10, link_delay=3))
    layout = placed(spec)
    assert layout is not None
    return spec, layout


def test_an_adder_slice_is_right_alone_and_in_a_row(adder: tuple[Spec, Layout]) -> None:
    spec, layout = adder
    verdict = check(layout, spec)
    assert verdict.passes, verdict.faults
    assert verdict.link_delay == 3
    row = row_verdict(layout, verdict, spec.replace(limits=Limits()), 4, (None, None))
    assert row.passes, row.wrong


def test_its_rail_runs_straight_to_the_heart(adder: tuple[Spec, Layout]) -> None:
    _, layout = adder
    pins = {pin.name: pin for pin in layout.pins}
    assert pins["ci"].at[1:] == pins["co"].at[1:]
    assert pins["ci"].at[1] == LANE
    assert pins["ci"].at[2] >= LOWEST
    boxes = BOXES[1]
    for x in range(min(boxes.sources)[0] + min(boxes.readouts)[0] + 2):
        assert layout.cells[x, *pins["ci"].at[1:]].part is Part.WIRE


@pytest.mark.parametrize("ground", [False, True])
def test_without_other_outputs_there_is_no_readout(ground: bool) -> None:
    spec = AND.replace(ground=ground)
    layout = placed(spec)
    assert layout is not None
    assert check(layout, spec).passes


def test_without_a_limit_on_the_link_delay_it_is_as_little_as_rails_allow() -> None:
    spec = AND.replace(limits=Limits(delay=8))
    layout = placed(spec)
    assert layout is not None
    verdict = check(layout, spec)
    assert verdict.passes
    assert verdict.link_delay is not None
    assert verdict.link_delay <= max(2, least_link_delay(spec).ticks)


@pytest.mark.parametrize(
    "spec",
    [
        AND.replace(limits=Limits(delay=8, link_delay=3, width=1)),
        AND.replace(limits=Limits(delay=8, link_delay=3, height=6)),
        AND.replace(limits=Limits(delay=8, link_delay=2)),
        Spec.parse("co = a & ci", stack="y", chain=[("co", "ci")], joint="buffer", link_delay=3),
    ],
)
def test_nothing_is_tried_where_no_slice_has_room_or_time(spec: Spec) -> None:
    problem, _ = Problem.of(spec)
    assert list(railed(problem, spec.limits)) == []


def test_boxes_of_no_use_are_left_out() -> None:
    problem, _ = Problem.of(AND)
    assert list(railed(problem, AND.limits, fits=lambda size: False)) == []
