"""Delays that no layout meets: nobody is asked, and the reason is said."""

from __future__ import annotations

from concurrent.futures import Future
from pathlib import Path

import pytest

from synth.bounds import least_delay
from synth.questions.events import BoxStarted, Event
from synth.questions.journal import Journal
from synth.search import Status, solve, solve_box
from synth.search.frontier.curve import Standing
from synth.search.frontier.frontier import frontier
from synth.search.workers.crew import Crew
from synth.search.workers.settings import Settings
from synth.search.workers.task import Reply, Task
from synth.spec import Spec
from tests.waiting import Clock, RunsOut

GATE = "q = a & ~b"
REASON = "1 tick cannot be had by any layout: q must be 1 at a=1 b=0"


class Asked:
    """A reporter that notes which boxes and delays are asked about."""

    def __init__(self) -> None:
        self.delays: list[int] = []

    def event(self, event: Event) -> None:
        if isinstance(event, BoxStarted):
            self.delays.append(event.delay)


@pytest.fixture
def nobody(monkeypatch: pytest.MonkeyPatch) -> None:
    """Workers that must not be asked."""

    def submit(*_: object) -> None:
        raise AssertionError("somebody was asked")

    monkeypatch.setattr(Crew, "submit", submit)
    monkeypatch.setattr("synth.search.walk.searching.FromAbove", submit)


@pytest.mark.usefixtures("nobody")
def test_what_is_too_fast_is_impossible_at_once_in_boxes_of_any_size() -> None:
    huge = Spec.parse("q = a ^ b ^ c ^ d", length=64, width=8, height=8, delay=1, stack="y")
    outcome = solve(huge, time_limit_s=1000)
    assert outcome.status is Status.IMPOSSIBLE
    assert "1 tick cannot be had by any layout" in outcome.reason
    assert "delay at most 1" in outcome.reason
    assert "ruled out by" not in outcome.reason
    assert outcome.stats.questions == 0
    assert outcome.stats.questions_too_fast == 64 * 8 * 8
    assert outcome.stats.boxes_ruled_out == ()
    one = solve_box(Spec.parse(GATE), (5, 5, 5), 1)
    assert one.status is Status.IMPOSSIBLE
    assert REASON in one.reason


def test_only_delays_that_can_be_had_are_asked_about() -> None:
    spec = Spec.parse(GATE, length=3, width=2, height=3, delay=2)
    asked = Asked()
    fast = solve(spec, minimize=["delay", "volume"], reporter=asked, workers=1)
    assert fast.status is Status.FOUND
    assert set(asked.delays) == {2}
    assert REASON in fast.claim
    assert "ruled out by" in fast.claim
    # Sizes of 3, 2 and 3, a box and its quarter turn once, and two delays: 15 boxes.
    assert fast.stats.questions_too_fast == 2 * 15
    plain = solve(spec, minimize=["delay", "volume"], workers=1, without=["least-delay"])
    assert plain.best == fast.best
    assert plain.layout is not None
    assert fast.layout is not None
    assert plain.layout.volume == fast.layout.volume
    assert "cannot be had" not in plain.claim


def test_the_claim_says_nothing_of_it_where_nothing_rests_on_it() -> None:
    outcome = solve(Spec.parse(GATE, length=3, width=2, height=3, delay=2), workers=1)
    assert outcome.status is Status.FOUND
    assert "cannot be had" not in outcome.claim
    assert outcome.stats.questions_too_fast == 0


def test_an_undecided_search_says_it_too(clock: Clock) -> None:
    spec = Spec.parse("q = a ^ b", length=4, width=2, height=4, delay=2, stack="y")
    outcome = solve(
        spec,
        minimize=["delay", "volume"],
        time_limit_s=1000,
        workers=1,
        reporter=RunsOut(clock, 3),
        without=["structure"],
    )
    assert outcome.status is Status.UNDECIDED
    assert "1 tick cannot be had by any layout: q must be 1 at a=1 b=0" in outcome.reason
    assert outcome.bound == 2


def test_steps_of_a_frontier_say_it() -> None:
    spec = Spec.parse(GATE, length=3, width=2, height=3, delay=3, stack="y")
    asked = Asked()
    found = frontier(spec, axes=("volume", "delay"), settings=Settings(workers=1), reporter=asked)
    first = found.steps[0]
    assert (first.first, first.last, first.standing) == (0, 1, Standing.NONE)
    assert REASON in first.claim
    assert min(asked.delays) >= 2


def test_advice_asks_nobody_about_what_is_too_fast(monkeypatch: pytest.MonkeyPatch) -> None:
    """Height and length let out alone are answered by the truth table, too."""
    delays = set()
    submit = Crew.submit

    def noted(crew: Crew, task: Task) -> Future[Reply]:
        delays.add(task.question.delay)
        return submit(crew, task)

    monkeypatch.setattr(Crew, "submit", noted)
    spec = Spec.parse(GATE, length=1, width=1, height=1, delay=0)
    outcome = solve(spec, advise_s=1000)
    assert outcome.advice[0] == "relaxing any one limit was not found to help"
    assert any("length up to 4" in line for line in outcome.advice)
    assert min(delays) >= 2


def test_a_layout_that_is_known_counts_more_than_the_bound(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    """Should the bound ever be wrong, a layout that the simulator passes shows it."""
    spec = Spec.parse("q = ~a", length=1, width=1, height=2, delay=1)
    journal = Journal({})
    assert solve(spec, journal=journal, workers=1).status is Status.FOUND
    wrong = least_delay(Spec.parse(GATE).function)
    monkeypatch.setattr("synth.search.walk.ledger.least_delay", lambda function: wrong)
    assert solve(spec, workers=1).status is Status.IMPOSSIBLE
    assert solve(spec, journal=journal, workers=1).status is Status.FOUND
