"""Layouts of a store to begin a search with: right, and named as asked."""

from __future__ import annotations

from pathlib import Path

import pytest

from synth.layout import Layout
from synth.library import Canonical, Store
from synth.library.answer import Answer
from synth.library.starting import MOST_STARTS, starts
from synth.medium import Joint
from synth.questions.outcome import Outcome, Status
from synth.questions.problem import Problem
from synth.questions.room import limits_beyond
from synth.simulator import check
from synth.spec import Limits, Spec
from synth.spec.demands import with_limits
from synth.spec.targets import load_target
from tests.library.answers import VOLUME, solved

RECORDS = Path(__file__).parents[2] / "benchmarks" / "records"
PARITY = Layout.load(RECORDS / "parity_layout.json")
"""9 x 2 x 4 cells of buffer joints, stacking along y, within 4 ticks."""

STACKED = Spec.parse("q = a ^ b ^ c", joint="buffer", stack="y", width=2, length=9, delay=4)


@pytest.fixture
def with_parity(store: Store) -> Store:
    """A store that holds a parity of buffer joints."""
    problem = Problem.of(STACKED)[0]
    verdict = check(PARITY, problem.spec, delay=4)
    assert verdict.passes
    store.keep(problem, Outcome(Status.UNDECIDED, PARITY, verdict, "made up", measures=VOLUME))
    return store


def begun(store: Store, spec: Spec) -> tuple[Layout, ...]:
    """The starts of a question; each does what is asked but for the room it takes."""
    found = starts(store, Problem.of(spec)[0], spec.limits)
    roomy = spec.replace(limits=limits_beyond(spec))
    for layout in found:
        assert check(layout, roomy, delay=spec.limits.delay).passes
        assert layout.made_for is None
        assert tuple(pin.name for pin in layout.pins) == spec.pin_names
    return found


@pytest.mark.parametrize("limits", [{"length": 5, "height": 2}, {"delay": 7}, {"volume": 10}])
def test_a_layout_found_for_other_limits_is_a_start(
    with_parity: Store, limits: dict[str, int]
) -> None:
    asked = Spec.parse("out = u ^ v ^ w", joint="buffer", stack="y", width=2, **limits)  # type: ignore[arg-type]
    (start, *_) = begun(with_parity, asked)
    assert start.size == PARITY.size
    assert start.stack == PARITY.stack


def test_what_needs_no_ground_is_a_start_on_ground(with_parity: Store) -> None:
    asked = Spec.parse("q = a ^ b ^ c", joint="buffer", stack="y", width=2, ground=True)
    wired = Spec.parse("q = a ^ b ^ c", joint="wire", delay=6, ground=True)
    for spec in (asked, wired):
        found = begun(with_parity, spec)
        assert found
        assert all(start.ground for start in found)


def test_what_is_not_to_be_stacked_says_nothing_of_a_stack(with_parity: Store) -> None:
    for start in begun(with_parity, Spec.parse("q = a ^ b ^ c", joint="buffer", delay=4)):
        assert start.stack is None


def test_a_slice_is_a_start_on_ground_too(store: Store) -> None:
    spec = with_limits(load_target("full-adder-slice"), joint="buffer", length=6, height=6)
    slice_ = Layout.load(RECORDS / "adder_slice_layout.json")
    outcome = Outcome(Status.UNDECIDED, slice_, check(slice_, spec), "made up", measures=VOLUME)
    store.keep(Problem.of(spec)[0], outcome)
    grounded = with_limits(spec, ground=True, height=5)
    (start,) = begun(store, grounded)
    assert (start.ground, start.chain, start.size) == (True, spec.chain, slice_.size)


@pytest.mark.parametrize("stack", [None, "x", "y"])
def test_other_joints_are_given_to_it(with_parity: Store, stack: str | None) -> None:
    asked = Spec.parse("q = a ^ b ^ c", joint="wire", stack=stack, delay=9)
    (start,) = begun(with_parity, asked)
    assert {pin.joint for pin in start.pins} == {Joint.WIRE}


def test_a_delay_that_was_assumed_holds_no_start_back(with_parity: Store) -> None:
    """Too few ticks are assumed for wire joints in front of four."""
    asked = Spec.parse("q = a ^ b ^ c")
    assumed = Problem.of(asked)[0].limits.delay
    (start,) = begun(with_parity, asked)
    delay = check(start, asked).delay
    assert assumed is not None
    assert delay is not None
    assert delay > assumed
    assert starts(with_parity, Problem.of(asked)[0], Limits(delay=assumed)) == ()


def test_where_no_joint_is_asked_it_is_a_wire_as_for_every_search(with_parity: Store) -> None:
    for start in begun(with_parity, Spec.parse("q = a ^ b ^ c", stack="y", width=2, delay=9)):
        assert {pin.joint for pin in start.pins} == {Joint.WIRE}


@pytest.mark.parametrize(
    "spec",
    [
        Spec.parse("q = a ^ b ^ c", joint="buffer", stack="y", width=2, delay=3),
        Spec.parse("q = a ^ b ^ c", joint="buffer", stack="y", width=1),
        Spec.parse("q = ~(a ^ b ^ c)", joint="buffer", stack="y"),
        Spec.parse("q = a ^ b ^ c", joint="buffer", stack="z"),
    ],
    ids=["quicker", "narrower", "another function", "another stack"],
)
def test_what_does_something_else_is_none(with_parity: Store, spec: Spec) -> None:
    assert starts(with_parity, Problem.of(spec)[0], spec.limits) == ()


def test_few_of_many_are_given_the_smallest_first(store: Store) -> None:
    spec, outcome = solved("q = ~a", length=1, width=1, height=2, delay=1)
    layout = outcome.layout
    assert layout is not None
    for height in range(2, 2 + 2 * MOST_STARTS):
        limits = Limits(length=1, width=1, height=height, delay=1)
        asked, naming = Canonical.of(Problem(spec.replace(limits=limits), VOLUME))
        tall = naming.to_canonical(layout).replace(size=(1, 1, height))
        answer = Answer(Status.UNDECIDED, proven=False, layout=tall, delay=1)
        store.keep_answer(asked, answer)
    found = begun(store, Spec.parse("q = ~in", delay=1))
    assert [start.volume for start in found] == [2, 3, 4]
