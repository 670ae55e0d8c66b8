"""Builds that are stopped: by a time limit or a key. What was told is kept, nobody is left."""

from __future__ import annotations

import threading
import time
from pathlib import Path
from typing import Any

import pytest

from synth.library import Store, jobs
from synth.library.build import Build
from synth.library.events import BuildEnded, Event, JobEnded, JobStarted
from synth.library.jobs import Job
from synth.questions.outcome import Outcome, Status
from synth.search.walk.questioner import Questioner
from tests.library.builds import SMALL, AtOnce, Noting, hard_recipe, impossible, recipe
from tests.waiting import GUARD_S, Clock


def require_nobody_left(batch: str, crews: list[Any]) -> None:
    assert not jobs._CREWS.of(batch)
    assert crews
    for crew in crews:
        assert crew.closed
        assert (crew._idle, crew._busy) == ([], {})


def run_out_once_told(
    build: Build, opened: Store, clock: Clock, crews: list[Any], monkeypatch: pytest.MonkeyPatch
) -> None:
    """Let the time of a build of a hard question run out once a box of it has been ruled out."""
    write = build._write_told

    def then_run_out() -> None:
        write()
        if not crews and opened.ruled_out(build.chains[0].questions[0]):
            crews.extend(jobs._CREWS.of(build._batch))
            clock.run_out()

    monkeypatch.setattr(build, "_write_told", then_run_out)


@pytest.mark.own_workers
def test_a_build_stops_at_its_time_limit_and_goes_on_from_there(
    tmp_path: Path, clock: Clock, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "one.sqlite"
    with Store(path) as opened:
        build = Build(hard_recipe(), opened, slots=1, time_limit_s=2)
        crews: list[Any] = []
        run_out_once_told(build, opened, clock, crews, monkeypatch)
        summary = build.run()
        assert summary.stopped == "the time limit of 2 seconds is up"
        assert (summary.jobs, summary.undecided) == (0, 1)
        require_nobody_left(build._batch, crews)
        asked = build.chains[0].questions[0]
        told = opened.ruled_out(asked)
        assert told
        executor = AtOnce()
        Build(hard_recipe(), opened, executor).run()
        assert list(executor.jobs[0].known) == told


class RunsOutAfterAJob(Noting):
    """Lets the time run out when a second job is given out."""

    def __init__(self, clock: Clock) -> None:
        super().__init__()
        self.clock = clock

    def event(self, event: Event) -> None:
        super().event(event)
        if len(self.of(JobStarted)) == 2:
            self.clock.run_out()


def test_what_was_answered_when_the_time_is_up_is_kept(tmp_path: Path, clock: Clock) -> None:
    easy = {"inputs": [1], "delays": [1], **SMALL}
    hard = {"inputs": [4], "delays": [3], "length": 5, "width": 4, "height": 5}
    both = recipe("10", "0110100110010110", asks=[easy, hard], solver="lingeling")
    with Store(tmp_path / "one.sqlite") as opened:
        summary = Build(both, opened, None, 1, RunsOutAfterAJob(clock), time_limit_s=1).run()
        known = [entry for entry in opened.entries() if entry.proven]
        assert summary.jobs == len(known) == 1
        assert summary.stopped


def test_a_build_that_is_done_in_time_was_not_stopped(store: Store) -> None:
    """Its time is up in the moment in which its last job ends."""
    noting = Noting()

    def answer(job: Job) -> Outcome:
        build._deadline = time.monotonic()
        return impossible(job)

    build = Build(recipe("0110"), store, AtOnce(answer), 1, noting, time_limit_s=600)
    summary = build.run()
    assert summary.stopped == ""
    assert noting.events[-1] == BuildEnded(summary)


@pytest.mark.own_workers
def test_stopped_by_a_key_nothing_told_is_lost_and_nobody_left(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The key comes as an exception at any moment; here, once a box has been ruled out."""
    with Store(tmp_path / "one.sqlite") as opened:
        build = Build(hard_recipe(), opened, slots=1)
        crews: list[Any] = []
        write = build._write_told

        def then_stop() -> None:
            write()
            if not crews and opened.ruled_out(build.chains[0].questions[0]):
                crews.extend(jobs._CREWS.of(build._batch))
                raise KeyboardInterrupt

        monkeypatch.setattr(build, "_write_told", then_stop)
        with pytest.raises(KeyboardInterrupt):
            build.run()
        require_nobody_left(build._batch, crews)


def test_a_layout_found_on_the_way_is_kept(
    tmp_path: Path, clock: Clock, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A search that goes on after it has found one is stopped: found again, it costs nothing."""
    given = recipe("01", delays=(1,), time={"first": 300})
    with Store(tmp_path / "one.sqlite") as opened:
        build = Build(given, opened, slots=1)
        settled = Questioner.keep

        def hold(walk: Questioner, *arguments: Any) -> None:
            settled(walk, *arguments)
            clock.run_out()
            over.wait(GUARD_S)

        over = threading.Event()
        end = build._end

        def end_then_go_on(*arguments: Any) -> None:
            over.set()
            end(*arguments)

        with monkeypatch.context() as patch:
            patch.setattr(Questioner, "keep", hold)
            patch.setattr(build, "_end", end_then_go_on)
            patch.setattr(build, "time_limit_s", 1.5)
            assert build.run().stopped
        clock.over = False
        (entry,) = opened.entries()
        assert (entry.status, entry.proven) == ("undecided", False)
        assert entry.delay is not None
        noting = Noting()
        Build(given, opened, slots=1, watcher=noting).run()
        (ended,) = noting.of(JobEnded)
        assert ended.outcome.status is Status.FOUND
        # One question at most, about the only box that is smaller.
        ruled_out = ended.outcome.stats.boxes_ruled_out
        assert ended.outcome.stats.questions <= len(ruled_out) == 1
