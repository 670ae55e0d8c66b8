"""A walk stands back once it cannot be over in time, and not before it has had its time."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from synth.questions.box import BoxQuestion
from synth.questions.events import BoxStarted, Event
from synth.questions.problem import Problem
from synth.search.walk import hope
from synth.search.walk.hope import GIVEN_UP, is_hopeless
from synth.search.walk.ledger import Ledger
from synth.search.walk.questioner import Questioner
from synth.search.walk.resting import SILENT_S
from synth.search.walk.rounds import OutOfTime
from synth.search.walk.searching import search
from synth.search.walk.shares import Walk
from synth.search.workers.crew import Crew
from synth.search.workers.judged import Found
from synth.search.workers.settings import Settings
from synth.spec import Spec
from tests.search.given import Given
from tests.waiting import Clock

HARD = [BoxQuestion((4, 2, height), 4) for height in range(1, GIVEN_UP + 1)]
LEFT = [BoxQuestion((length, 2, 4), 4) for length in range(1, 9)]


def test_there_is_no_hope_only_once_enough_was_given_up_and_the_rest_takes_too_long() -> None:
    assert is_hopeless(LEFT, HARD, 10.0, 30.0, 1)
    assert not is_hopeless(LEFT, HARD[1:], 10.0, 30.0, 1)
    assert not is_hopeless(LEFT, HARD, 10.0, 30.0, 4)
    assert not is_hopeless(LEFT, HARD, 10.0, 300.0, 1)


def test_boxes_that_differ_in_height_count_once_and_small_ones_not_at_all() -> None:
    flat = [BoxQuestion((1, 2, 1), 4), BoxQuestion((1, 1, 1), 4)]
    assert not is_hopeless(flat, HARD, 10.0, 1.0, 1)
    towers = [BoxQuestion((4, 2, height), 4) for height in range(4, 40)]
    assert not is_hopeless(towers, HARD, 10.0, 11.0, 1)
    assert is_hopeless(towers, HARD, 10.0, 9.0, 1)


@given(st.floats(0.1, 100.0), st.floats(0.1, 100.0), st.integers(1, 8))
def test_more_time_or_more_workers_never_take_hope(
    share_s: float, left_s: float, workers: int
) -> None:
    if not is_hopeless(LEFT, HARD, share_s, left_s, workers):
        assert not is_hopeless(LEFT, HARD, share_s, left_s + 1.0, workers)
        assert not is_hopeless(LEFT, HARD, share_s, left_s, workers + 1)


class Slow:
    """A reporter; every question takes longer than its share.

    Args:
        clock: the clock of the search.
        seconds: for one question.
    """

    def __init__(self, clock: Clock, seconds: float) -> None:
        self.clock = clock
        self.seconds = seconds

    def event(self, event: Event) -> None:
        """Let time pass."""
        if isinstance(event, BoxStarted):
            self.clock.now += self.seconds


def test_a_walk_without_hope_leaves_its_workers_to_what_comes_from_above(
    clock: Clock, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(hope, "GIVEN_UP", 1)
    problem = Problem(Spec.parse("q = a & b", length=4, width=2, height=4, delay=3, stack="y"))
    best = search(problem, Settings(workers=1), candidates=[problem.candidates()[-1]])
    assert best.layout is not None
    assert best.verdict is not None
    above = Given(Found(best.layout, best.verdict), busy=True)
    slow = Slow(clock, 90.0)
    with Crew(2) as crew:
        questioner = Questioner(Ledger(problem), Settings(workers=2), crew, slow, above)
        walk = Walk(questioner, clock.now + 100.0)
        questioner.take_gains()
        with pytest.raises(OutOfTime):
            walk.first(problem.candidates())
    assert walk.stood_back
    assert above.joined == questioner.workers == 1


@pytest.mark.parametrize("has_layout", [False, True])
def test_a_layout_larger_than_was_assumed_lets_a_walk_stand_back(
    clock: Clock, monkeypatch: pytest.MonkeyPatch, has_layout: bool
) -> None:
    """No candidate is known to hold one, and none is decided in time."""
    monkeypatch.setattr(hope, "GIVEN_UP", 1)
    problem = Problem(Spec.parse("q = a ^ b", length=4, width=2, height=4, delay=3, stack="y"))
    above = Given(busy=True)
    above.has_layout = has_layout
    with Crew(2) as crew:
        slow = Slow(clock, 90.0)
        questioner = Questioner(Ledger(problem), Settings(workers=2), crew, slow, above)
        walk = Walk(questioner, clock.now + 100.0)
        with pytest.raises(OutOfTime):
            walk.first(problem.candidates())
    assert walk.stood_back == has_layout
    assert above.joined == has_layout


def test_what_comes_from_above_rests_once_a_layout_is_known(clock: Clock) -> None:
    """It rests while it is silent, and the walk has its place; with one worker it never does."""
    problem = Problem(Spec.parse("q = a & b", length=4, width=2, height=4, delay=3, stack="y"))
    best = search(problem, Settings(workers=1), candidates=[problem.candidates()[-1]])
    assert best.layout is not None
    assert best.verdict is not None
    for workers in (1, 2):
        above = Given(busy=True)
        with Crew(workers) as crew:
            asking = Questioner(Ledger(problem), Settings(workers=workers), crew, above=above)
            clock.now += SILENT_S
            asking.share_out()
            assert not above.resting, "it has the first word"
            asking.offer(problem.candidates()[-1], Found(best.layout, best.verdict))
            asking.share_out()
            assert above.resting == (workers > 1)
            assert asking.workers == workers
            above.give(Found(best.layout, best.verdict))
            asking.take_gains()
            asking.share_out()
            assert not above.resting
            assert asking.workers == 1
