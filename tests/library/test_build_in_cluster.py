"""Builds on a cluster: a real scheduler and two worker processes on this machine."""

from __future__ import annotations

import signal
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from synth.library import Store
from synth.library.build import Build
from synth.library.events import Event, JobEnded, JobFailed, JobStarted, Summary
from synth.library.jobs import dismiss
from synth.search.workers.cluster import Cluster
from tests.clusters import Scheduler, connected, patient, require_nobody_left, scheduler, two
from tests.library.builds import TEN, Noting, contents, hard_recipe
from tests.waiting import GUARD_S

__all__ = ["patient", "scheduler", "two"]

pytest.importorskip("distributed", reason="the extra 'cluster' is not installed")


@pytest.fixture
def hired(two: Scheduler) -> Iterator[Cluster]:
    yield from connected(two.address, dismiss)


def build(path: Path, hired: Cluster, watcher: Noting, **more: Any) -> Summary:
    recipe = more.pop("recipe", TEN)
    with Store(path) as opened:
        return Build(
            recipe,
            opened,
            hired.executor,
            hired.slots,
            watcher,
            end_jobs=hired.end_jobs,
            **more,
        ).run()


@pytest.fixture(scope="module")
def local(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Any]:
    """The store of a build on this machine."""
    path = tmp_path_factory.mktemp("local") / "local.sqlite"
    with Store(path) as opened:
        Build(TEN, opened).run()
    return contents(path)


def test_a_cluster_builds_the_same_store(
    two: Scheduler, hired: Cluster, local: dict[str, Any], tmp_path: Path
) -> None:
    assert hired.slots == 2
    noting = Noting()
    summary = build(tmp_path / "one.sqlite", hired, noting)
    assert (summary.jobs, summary.failed, summary.undecided) == (10, 0, 0)
    assert noting.of(JobFailed) == []
    assert contents(tmp_path / "one.sqlite") == local
    require_nobody_left(two)


def test_a_worker_that_is_lost_costs_its_job_only(
    two: Scheduler, hired: Cluster, local: dict[str, Any], tmp_path: Path
) -> None:
    class Killer(Noting):
        def event(self, event: Event) -> None:
            super().event(event)
            if isinstance(event, JobStarted) and len(self.of(JobStarted)) == 4:
                two.workers[0].send_signal(signal.SIGKILL)

    noting = Killer()
    summary = build(tmp_path / "one.sqlite", hired, noting)
    assert two.workers[0].wait(GUARD_S) == -signal.SIGKILL
    assert (summary.jobs, summary.failed, summary.undecided) == (10, 0, 0)
    assert len(noting.of(JobEnded)) == 10
    assert contents(tmp_path / "one.sqlite") == local
    two.workers.pop(0)
    require_nobody_left(two)


def test_a_time_limit_ends_what_is_under_way_there(
    two: Scheduler, hired: Cluster, tmp_path: Path
) -> None:
    hard = hard_recipe(time={"first": 600, "most": 600})
    path = tmp_path / "one.sqlite"
    summary = build(path, hired, Noting(), recipe=hard, time_limit_s=0.5)
    assert summary.stopped == "the time limit of 0.5 seconds is up"
    require_nobody_left(two)
    # The workers are well: the next build has them.
    again = build(tmp_path / "two.sqlite", hired, Noting())
    assert again.undecided == 0
