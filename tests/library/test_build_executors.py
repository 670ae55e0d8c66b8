"""Builds on executors of many kinds, and what is left when jobs or processes fail."""

from __future__ import annotations

import multiprocessing
import os
import signal
from collections import Counter
from concurrent.futures import Executor, Future, ProcessPoolExecutor, ThreadPoolExecutor
from concurrent.futures.process import BrokenProcessPool
from pathlib import Path
from typing import Any

import pytest

from synth.library import Store, jobs
from synth.library.build import Build
from synth.library.events import Event, JobEnded, JobFailed, JobStarted
from synth.library.jobs import Job
from synth.questions.outcome import Outcome, Status
from tests.library.builds import TEN, AtOnce, Noting, contents, impossible, recipe


def failing(times: int, answer: Any = impossible) -> AtOnce:
    """Fails so many times for each question about exclusive-or."""
    failed: Counter[str] = Counter()

    def run(job: Job) -> Outcome:
        if job.asked.spec.function.outputs["y1"] == "0110" and failed[job.asked.key] < times:
            failed[job.asked.key] += 1
            raise ConnectionError("gone")
        outcome: Outcome = answer(job)
        return outcome

    return AtOnce(run)


def test_a_job_that_fails_is_given_out_again(store: Store) -> None:
    noting = Noting()
    summary = Build(recipe("0110", "0111", delays=(1, 2)), store, failing(2), 1, noting).run()
    failures = noting.of(JobFailed)
    assert [(failure.error, failure.again) for failure in failures] == [
        ("ConnectionError: gone", True)
    ] * 4
    assert (summary.jobs, summary.failed, summary.impossible) == (4, 0, 4)


def test_a_job_that_fails_again_and_again_is_left_and_nothing_else(store: Store) -> None:
    noting = Noting()
    executor = failing(1000)
    given = recipe("0110", "0111", delays=(1, 2), time={"first": 1, "most": 4})
    summary = Build(given, store, executor, 1, noting).run()
    assert [failure.again for failure in noting.of(JobFailed)] == [True, True, False] * 2
    assert (summary.jobs, summary.failed) == (2, 2)
    assert (summary.impossible, summary.undecided) == (2, 2)
    # Built again, it is asked again.
    again = Build(given, store, AtOnce(), 1).run()
    assert (again.jobs, again.recalled, again.impossible) == (2, 2, 4)


def test_a_refused_layout_is_not_kept_and_its_question_left(store: Store) -> None:
    def answer(job: Job) -> Outcome:
        return Outcome(Status.REFUSED, reason="made up")

    executor = AtOnce(answer)
    summary = Build(recipe("0110", time={"first": 1, "most": 4}), store, executor).run()
    assert (summary.refused, summary.undecided, len(executor.jobs)) == (1, 1, 1)
    assert store.count() == 0


class Full(AtOnce):
    """Takes one job and no more."""

    def submit(self, fn: Any, /, *args: Any, **more: Any) -> Future[Any]:
        if self.jobs:
            raise RuntimeError("cannot schedule new futures after shutdown")
        return super().submit(fn, *args, **more)


def test_an_executor_that_takes_no_more_jobs_stops_the_build(store: Store) -> None:
    summary = Build(recipe("0110", "0111", "0001"), store, Full(), 1).run()
    assert summary.stopped.startswith("no more jobs can be given out (RuntimeError: cannot")
    assert (summary.jobs, summary.impossible, summary.undecided) == (1, 1, 2)


def executors() -> list[Any]:
    context = multiprocessing.get_context("spawn")
    return [
        pytest.param(lambda: ThreadPoolExecutor(2), id="threads"),
        pytest.param(lambda: ProcessPoolExecutor(2, mp_context=context), id="processes"),
    ]


@pytest.mark.parametrize("make", executors())
def test_any_executor_will_do(make: Any, left_alone: dict[str, Any], tmp_path: Path) -> None:
    executor: Executor = make()
    with executor, Store(tmp_path / "one.sqlite") as opened:
        summary = Build(TEN, opened, executor).run()
        assert executor.submit(os.getpid).result()  # It is left as it is.
    assert summary.jobs == 10
    assert contents(tmp_path / "one.sqlite") == left_alone


def test_a_pool_of_processes_that_breaks_costs_what_was_under_way(tmp_path: Path) -> None:
    """The standard pool breaks wholly when a process of it dies; the next build goes on."""
    path = tmp_path / "one.sqlite"
    context = multiprocessing.get_context("spawn")

    class Killing(Noting):
        def event(self, event: Event) -> None:
            super().event(event)
            if len(self.of(JobEnded)) == 4:
                for child in multiprocessing.active_children():
                    child.kill()

    with ProcessPoolExecutor(1, mp_context=context) as pool, Store(path) as opened:
        broken = Build(TEN, opened, pool, 1, Killing()).run()
        assert broken.stopped
        assert 4 <= broken.jobs < 10
        with pytest.raises(BrokenProcessPool):
            pool.submit(os.getpid)
        rest = Build(TEN, opened).run()
    assert rest.recalled == broken.jobs
    assert rest.jobs == 10 - broken.jobs


@pytest.mark.own_workers
def test_a_worker_process_that_is_killed_costs_its_job_only(
    left_alone: dict[str, Any], tmp_path: Path
) -> None:
    killed: list[int] = []

    class Killer(Noting):
        def event(self, event: Event) -> None:
            super().event(event)
            if isinstance(event, JobStarted) and len(self.of(JobStarted)) in (3, 7):
                for crew in jobs._CREWS.of(build._batch):
                    for worker in (*crew._idle, *crew._busy.values()):
                        os.kill(worker.process.pid, signal.SIGKILL)
                        killed.append(worker.process.pid)

    noting = Killer()
    with Store(tmp_path / "one.sqlite") as opened:
        build = Build(TEN, opened, watcher=noting)
        summary = build.run()
    assert len(killed) >= 2
    assert (summary.jobs, summary.failed, noting.of(JobFailed)) == (10, 0, [])
    assert contents(tmp_path / "one.sqlite") == left_alone
