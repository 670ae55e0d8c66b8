"""What a start is worth to the process that places and shrinks."""

from __future__ import annotations

import time

import pytest

from synth.layout import Layout
from synth.questions.problem import Problem
from synth.search.above.placed import FAR_LARGER, LATER, SHARES_FAR, SHARES_MET, Placing
from synth.simulator import check
from synth.spec import Limits, Spec
from synth.spec.spec import MAX_DELAY
from tests.waiting import GUARD_S

WIDE = {"length": 40, "width": 2, "height": 20}
GATE = Spec.parse("q = a & ~b", delay=3, stack="y", joint="buffer", **WIDE)


def placing_for(spec: Spec) -> Placing:
    problem, _ = Problem.of(spec)
    return Placing(problem, spec.limits, 0, time.monotonic() + GUARD_S)


def test_only_a_far_larger_slice_counts_as_none() -> None:
    slice_ = Spec.parse("co = a & ci", stack="x", chain=[("co", "ci")], width=2, delay=5)
    small, large = Layout((6, 2, 5), {}), Layout((36, 2, 21), {})
    placing = placing_for(slice_)
    assert placing.counts_as_none(large)
    assert not placing.counts_as_none(small)
    assert not placing_for(Spec.parse("q = a & b", width=2, delay=5)).counts_as_none(large)


def test_it_is_over_once_nothing_is_left_to_try() -> None:
    nothing = Spec.parse("q = a & b", width=2, length=1, height=1, delay=1, stack="y")
    placing = placing_for(nothing)
    assert not placing.is_over
    assert placing.first() is None
    assert placing.is_over


def test_what_was_done_before_it_goes_on_does_not_count(monkeypatch: pytest.MonkeyPatch) -> None:
    """A turn lasts as long as what was done since the last one: here nothing."""
    used = [0.0]
    monkeypatch.setattr(time, "process_time", lambda: used[0])
    placing = placing_for(Spec.parse("q = a & b", width=2, delay=5))
    used[0] += 100.0
    placing.resume()
    assert placing.turn() is None
    assert not placing.is_over


def test_a_slower_start_is_placed_where_none_is_fast_enough() -> None:
    hasty = Problem(Spec.parse("q = a ^ b", delay=1, stack="y", joint="buffer", **WIDE))
    found = Placing(hasty, hasty.limits, 0, time.monotonic() + GUARD_S).first()
    assert found is not None
    verdict = check(found, hasty.spec.replace(limits=Limits()), delay=1 + LATER)
    assert verdict.passes


def test_placing_has_most_of_the_time_while_the_best_is_far_larger_than_what_is_placed() -> None:
    placing = placing_for(GATE)
    assert placing.share == 1.0, "nothing keeps the delay yet"
    largest = placing.starts.largest
    assert largest > 0
    for length, share in ((FAR_LARGER * largest + 1, SHARES_FAR[0]), (largest, SHARES_MET[0])):
        placing.note(Layout(size=(length, 1, 1), cells={}, pins=()))
        assert placing.share == share
    assert SHARES_FAR[0] > 1.0 >= SHARES_MET[0]
    placing.starts.rounds += 1
    assert placing.share == SHARES_MET[1]
    assert placing.is_use(Layout(size=(FAR_LARGER * largest, 1, 1), cells={}, pins=()))
    assert not placing.is_use(Layout(size=(FAR_LARGER * largest + 1, 1, 1), cells={}, pins=()))


def test_placing_has_most_of_the_time_until_a_stricter_question_comes_to_something() -> None:
    placing = placing_for(Spec.parse("q = a & b & c", delay=4, joint="wire"))
    small = Layout(size=(1, 1, 1), cells={}, pins=())
    placing.note(small)
    assert placing.share == SHARES_MET[0]
    placing.starts.awaits_stricter = True
    assert placing.share == SHARES_FAR[0]


@pytest.mark.parametrize(
    ("asked", "differs"),
    [({}, False), ({"delay": 3}, True), ({"delay": 9}, False), ({"delay": MAX_DELAY}, False)],
)
def test_a_slower_stricter_question_is_placed_where_it_is_another_one(
    asked: dict[str, int], differs: bool
) -> None:
    placing = placing_for(Spec.parse("q = a & b & c", joint="wire", **asked))
    assert placing.starts.also_stricter
    assert placing.late.also_stricter is differs
