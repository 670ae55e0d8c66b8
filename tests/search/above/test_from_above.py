"""From above: what comes is right and keeps the limits, and the walk stops where it meets it."""

from __future__ import annotations

import math
import queue
import subprocess
import sys

import pytest

from synth.composing import compose
from synth.machine import process_fields
from synth.questions.box import BoxQuestion
from synth.questions.events import BestImproved, BoxStarted
from synth.questions.measures import keeps
from synth.questions.outcome import Status
from synth.questions.problem import Problem
from synth.search.above import from_above
from synth.search.above.from_above import FromAbove
from synth.search.walk.ledger import Ledger
from synth.search.walk.questioner import Questioner
from synth.search.walk.searching import search
from synth.search.walk.shares import Walk
from synth.search.workers.child import CAN_STAND_STILL
from synth.search.workers.crew import Crew
from synth.search.workers.judged import Found
from synth.search.workers.settings import Settings
from synth.simulator import check
from synth.spec import Limits, Spec
from tests.search.given import Given
from tests.waiting import GUARD_S, Clock, Log, wait_until

GATE = Spec.parse("q = a & ~b", width=2, delay=3, stack="y", joint="buffer")
LONG = {"length": 40, "width": 2, "height": 20}
LOOSE = Problem(GATE.replace(limits=Limits(length=40, width=2, height=20, delay=3)))


class Kept(Log):
    """A reporter that keeps every event."""

    def asked(self) -> list[BoxQuestion]:
        return [BoxQuestion(e.size, e.delay) for e in self.events if isinstance(e, BoxStarted)]


def test_a_right_layout_is_there_at_once_and_gains_keep_the_limits() -> None:
    gains: list[Found] = []
    with FromAbove(LOOSE, LOOSE.limits, time_limit_s=GUARD_S) as above:
        gains += above.gains()
        assert gains

        def another() -> bool:
            # The last gain may come just before the end: so it is looked for after it.
            over = not above.busy
            gains.extend(above.gains())
            return len(gains) > 1 or over

        wait_until(another, "neither a gain nor an end")
    assert len(gains) > 1, "what is composed of so small a gate is not the smallest"
    volumes = [found.layout.volume for found in gains]
    assert min(volumes[1:]) < volumes[0]
    for found in gains:
        assert check(found.layout, LOOSE.spec, delay=3).passes
        assert keeps(found.layout, found.verdict.delay, LOOSE.limits)
    assert above.best is not None
    assert above.best.layout.volume == min(volumes)


@pytest.fixture
def idle(monkeypatch: pytest.MonkeyPatch) -> None:
    """Processes that take what they are sent, gain nothing, and go on until they are ended."""

    def begun(module: str) -> subprocess.Popen[bytes]:
        waiting = [sys.executable, "-c", "import sys; sys.stdin.buffer.read()"]
        return subprocess.Popen(waiting, stdin=subprocess.PIPE, stdout=subprocess.PIPE)

    monkeypatch.setattr(from_above, "started", begun)


@pytest.mark.usefixtures("idle")
def test_a_layout_found_elsewhere_is_a_start_as_well() -> None:
    with FromAbove(LOOSE, LOOSE.limits, time_limit_s=GUARD_S) as above:
        composed = above.composition.layout
        assert composed is not None
        gains = above.gains()
        small = search(LOOSE, Settings(workers=1), candidates=[BoxQuestion((3, 2, 4), 3)]).layout
        assert small is not None
        above.offer(small)
        above.offer(composed)
        assert above.best is not None
        assert above.best.layout.volume == small.volume < composed.volume
        assert gains


def test_stopping_leaves_no_process_and_keeps_what_came() -> None:
    with FromAbove(LOOSE, LOOSE.limits, time_limit_s=GUARD_S) as above:
        (process,) = above._processes
    assert process.poll() is not None
    assert not above.busy
    assert above.gains()


@pytest.mark.usefixtures("idle")
def test_further_processes_join_and_end_with_it() -> None:
    with FromAbove(LOOSE, LOOSE.limits, time_limit_s=GUARD_S) as above:
        above.gains()
        above.join(1)
        first, second = above._processes
        wait_until(lambda: len(above._ordered) == 2, "an order was not sent")
        first.kill()
        wait_until(lambda: above._running == 1, "a process that is lost counts as running")
        assert above.busy
        assert second.poll() is None
    assert second.poll() is not None
    assert not above.busy


@pytest.mark.usefixtures("idle")
def test_it_begins_late_from_the_best_that_is_known_by_then(clock: Clock) -> None:
    """Until then it is busy, since gains may come, and takes no worker's place."""
    with FromAbove(LOOSE, LOOSE.limits, time_limit_s=GUARD_S, waits_s=1.0) as above:
        assert above.gains(), "what is composed is there at once"
        small = search(LOOSE, Settings(workers=1), candidates=[BoxQuestion((3, 2, 4), 3)]).layout
        assert small is not None
        above.offer(small)
        assert (above.busy, above.at_work, above._processes) == (True, False, [])
        clock.now += 1.0
        assert above.gains() == []
        assert (above.busy, above.at_work, len(above._processes)) == (True, True, 1)
        assert above._start == small


@pytest.mark.usefixtures("idle")
def test_it_begins_at_once_where_others_join_or_time_is_short(clock: Clock) -> None:
    with FromAbove(LOOSE, LOOSE.limits, time_limit_s=GUARD_S, waits_s=1.0) as above:
        above.join(1)
        assert len(above._processes) == 2
    short_s = from_above.LEAST_S + 0.5
    with FromAbove(LOOSE, LOOSE.limits, time_limit_s=short_s, waits_s=1.0) as above:
        assert len(above._processes) == 1


@pytest.mark.usefixtures("idle")
def test_it_does_not_begin_after_its_end(clock: Clock) -> None:
    with FromAbove(LOOSE, LOOSE.limits, time_limit_s=GUARD_S, waits_s=1.0) as above:
        pass
    clock.now += 1.0
    above.gains()
    assert not above._processes
    assert not above.busy


@pytest.mark.skipif(not CAN_STAND_STILL, reason="processes cannot stand still here")
@pytest.mark.usefixtures("idle")
def test_it_rests_and_goes_on_and_hears_of_layouts() -> None:
    """While it rests the walk has its place. A layout from elsewhere wakes it."""

    def state() -> str:
        return process_fields(process.pid)[0]

    with FromAbove(LOOSE, LOOSE.limits, time_limit_s=GUARD_S) as above:
        (process,) = above._processes
        wait_until(lambda: len(above._ordered) == 1, "the order was not sent")
        assert above.at_work
        above.rest(True)
        above.rest(True)
        wait_until(lambda: state() == "T", "it goes on")
        assert above.busy
        assert not above.at_work
        above.rest(False)
        wait_until(lambda: state() != "T", "it stands still")
        assert above.at_work
        above.rest(True)
        small = search(LOOSE, Settings(workers=1), candidates=[BoxQuestion((3, 2, 4), 3)]).layout
        assert small is not None
        above.offer(small)
        assert above.at_work
        above.rest(True)
    assert process.poll() is not None


@pytest.mark.usefixtures("idle")
def test_a_gain_of_one_process_is_told_to_the_others(monkeypatch: pytest.MonkeyPatch) -> None:
    small = search(LOOSE, Settings(workers=1), candidates=[BoxQuestion((3, 2, 4), 3)]).layout
    assert small is not None
    told: list[tuple[object, object]] = []
    with FromAbove(LOOSE, LOOSE.limits, time_limit_s=GUARD_S) as above:
        above.join(1)
        wait_until(lambda: len(above._ordered) == 2, "an order was not sent")
        first, second = above._processes
        above._gains = queue.SimpleQueue()  # without what was composed
        monkeypatch.setattr(from_above, "send", lambda stream, sent: told.append((stream, sent)))
        above._gains.put((small, first))
        above._gains.put((small, second))
        assert [found.layout for found in above.gains()] == [small]
    assert told == [(second.stdin, small)]


def test_a_process_that_is_lost_ends_it() -> None:
    with FromAbove(LOOSE, LOOSE.limits, time_limit_s=GUARD_S) as above:
        (process,) = above._processes
        process.kill()
        wait_until(lambda: not above.busy, "it is busy without its process")


def test_what_only_breaks_limits_that_were_assumed_is_shown_and_is_no_answer() -> None:
    tight = Problem(GATE.replace(limits=Limits(length=1, width=2, height=1, delay=3)))
    told: list[Found] = []
    with FromAbove(tight, GATE.limits, time_limit_s=1.0, beyond=told.append) as above:
        assert above.gains() == []
        assert told[-1:] == [above.best]
        assert above.best is not None
        assert above.best.layout.length > 1
    told.clear()
    with FromAbove(tight, tight.limits, time_limit_s=1.0, beyond=told.append) as above:
        assert above.gains() == []
        assert told == []
        assert above.best is None


def test_a_start_is_placed_where_every_construction_is_too_slow() -> None:
    quick = Problem(Spec.parse("q = ~(a | b)", delay=1, stack="y", joint="buffer", **LONG))
    composed = compose(quick.spec)
    assert composed.layout is None, "a construction is as fast"
    with FromAbove(quick, quick.limits, time_limit_s=GUARD_S) as above:

        def come() -> bool:
            over = not above.busy
            return bool(above.gains()) or over

        wait_until(come, "no layout from above")
        assert above.best is not None
        assert check(above.best.layout, quick.spec, delay=1).passes


def test_the_walk_asks_no_further_than_what_comes_from_above() -> None:
    problem = Problem(GATE.replace(limits=Limits(length=3, width=2, height=4, delay=3)))
    best = search(problem, Settings(workers=1))
    assert best.layout is not None
    assert best.verdict is not None
    given = Given(Found(best.layout, best.verdict))
    reporter = Kept()
    with Crew(1) as crew:
        questioner = Questioner(Ledger(problem), Settings(workers=1), crew, reporter, given)
        chosen = Walk(questioner).first(problem.candidates())
    assert chosen is not None
    assert chosen.measure("volume") == best.layout.volume
    assert reporter.asked()
    assert all(asked.measure("volume") <= best.layout.volume for asked in reporter.asked())


def test_a_large_layout_from_above_skips_no_box_that_was_not_asked_about_yet() -> None:
    problem = Problem(Spec.parse("q = ~a", length=2, width=2, height=2, delay=1, stack="y"))
    last = problem.candidates()[-1]
    large = search(problem, Settings(workers=1), candidates=[last])
    assert large.layout is not None
    assert large.verdict is not None
    given = Given(Found(large.layout, large.verdict))
    with Crew(1) as crew:
        questioner = Questioner(Ledger(problem), Settings(workers=1), crew, Kept(), given)
        chosen = Walk(questioner).first(problem.candidates())
    assert chosen is not None
    assert chosen.measure("volume") < large.layout.volume


def test_no_layout_is_called_the_best_so_far_after_a_better_one() -> None:
    problem = Problem(Spec.parse("q = ~a", length=2, width=2, height=2, delay=1, stack="y"))
    candidates = problem.candidates()
    large = search(problem, Settings(workers=1), candidates=[candidates[-1]])
    assert large.layout is not None
    assert large.verdict is not None
    reporter = Kept()
    with Crew(1) as crew:
        questioner = Questioner(Ledger(problem), Settings(workers=1), crew, reporter)
        chosen = Walk(questioner).first(candidates)
        # Another worker's answer, or a gain from above, may come late.
        questioner.offer(candidates[-1], Found(large.layout, large.verdict))
    assert chosen is not None
    assert chosen.measure("volume") < large.layout.volume
    told = [event.size for event in reporter.events if isinstance(event, BestImproved)]
    assert told == sorted(told, key=math.prod, reverse=True)
    assert told[-1] == chosen.size


def test_a_search_that_is_cut_short_ends_with_a_layout(clock: Clock) -> None:
    """And says that it passes over what was only assumed."""
    spec = Spec.parse("q = a ^ b ^ c", width=2, delay=6, stack="y", joint="buffer")
    problem, _ = Problem.of(spec)
    clock.run_out()
    outcome = search(problem, Settings(workers=1), time_limit_s=1.0, own=spec.limits)
    assert outcome.status is Status.UNDECIDED
    assert outcome.layout is not None
    assert check(outcome.layout, spec, delay=6).passes
    assert "larger than the limits that were assumed" in outcome.reason


@pytest.mark.parametrize("without", [(), ("above",)])
def test_without_a_time_limit_nothing_comes_from_above(without: tuple[str, ...]) -> None:
    """So that no proof takes longer than it did."""
    problem = Problem(Spec.parse("q = ~a", length=2, width=1, height=2, delay=1))
    plain = search(problem, Settings(workers=1, without=without))
    assert plain.status is Status.FOUND
