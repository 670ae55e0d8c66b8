"""Builds on a cluster: a real scheduler and two worker processes on this machine."""

from __future__ import annotations

import json
import os
import signal
import subprocess
import sys
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import pytest

import synth
from synth.errors import InputError
from synth.library import Store
from synth.library import cluster as cluster_module
from synth.library.build import Build
from synth.library.cluster import Cluster, cluster
from synth.library.events import Event, JobEnded, JobFailed, JobStarted, Summary
from tests.cli.test_ending import children_of
from tests.library.builds import TEN, Noting, contents, hard_recipe
from tests.waiting import GUARD_S, wait_until

distributed = pytest.importorskip("distributed", reason="the extra 'cluster' is not installed")

ROOT = Path(synth.__file__).parents[1]


@pytest.fixture(autouse=True)
def patient(monkeypatch: pytest.MonkeyPatch) -> None:
    """A busy machine may take long to connect."""
    monkeypatch.setattr(cluster_module, "CONNECT_S", GUARD_S)


@dataclass
class Scheduler:
    """A scheduler and the workers that were started for it."""

    address: str
    folder: Path
    workers: list[subprocess.Popen[bytes]] = field(default_factory=list)

    def hire(self, count: int) -> None:
        for _ in range(count):
            arguments = ["--nthreads", "1", "--no-nanny", "--no-dashboard", "--host", "127.0.0.1"]
            self.workers.append(_started("worker", self.folder, self.address, *arguments))

    def children(self) -> set[int]:
        return set().union(*(children_of(worker.pid) for worker in self.workers))


def _started(what: str, folder: Path, *arguments: str) -> subprocess.Popen[bytes]:
    return subprocess.Popen(
        [sys.executable, "-m", f"distributed.cli.dask_{what}", *arguments],
        cwd=folder,
        env={**os.environ, "PYTHONPATH": str(ROOT)},
        stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
    )


@pytest.fixture(scope="module")
def scheduler(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Scheduler]:
    folder = tmp_path_factory.mktemp("cluster")
    file = folder / "scheduler.json"
    arguments = ["--host", "127.0.0.1", "--port", "0", "--no-dashboard", "--no-show"]
    process = _started("scheduler", folder, *arguments, "--scheduler-file", str(file))
    made = Scheduler("", folder)
    try:

        def is_up() -> bool:
            assert process.poll() is None
            return file.exists() and file.read_text().rstrip().endswith("}")

        wait_until(is_up, "the scheduler does not start")
        made.address = json.loads(file.read_text())["address"]
        yield made
    finally:
        for started in (*made.workers, process):
            started.kill()
            started.wait()


@pytest.fixture
def two(scheduler: Scheduler) -> Scheduler:
    """The scheduler with two workers, both well."""
    scheduler.workers = [worker for worker in scheduler.workers if worker.poll() is None]
    scheduler.hire(2 - len(scheduler.workers))
    return scheduler


def connected(address: str) -> Iterator[Cluster]:
    """The cluster, once both workers are there."""

    def are_two() -> bool:
        with cluster(address) as hired:
            return hired.slots == 2

    wait_until(are_two, "the workers do not come")
    with cluster(address) as found:
        yield found


@pytest.fixture
def hired(two: Scheduler) -> Iterator[Cluster]:
    yield from connected(two.address)


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


def require_nobody_left(scheduler: Scheduler) -> None:
    """Worker processes end when the build does; the cluster's own workers stay."""
    wait_until(lambda: not scheduler.children(), "a worker process lives on")


# In this order: a scheduler without workers comes first.


def test_a_scheduler_without_workers_is_no_cluster(
    scheduler: Scheduler, monkeypatch: pytest.MonkeyPatch
) -> None:
    wait = distributed.Client.wait_for_workers
    # However slow the machine is, there are none to wait for.
    monkeypatch.setattr(
        distributed.Client,
        "wait_for_workers",
        lambda client, count, timeout: wait(client, count, 1),
    )
    with (
        pytest.raises(InputError, match=r"has no workers; start some with 'dask worker tcp://"),
        cluster(scheduler.address),
    ):
        pass


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


def test_another_version_of_gatefit_is_refused(
    two: Scheduler, hired: Cluster, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Its answers may be about other layouts."""
    monkeypatch.setattr("synth.library.cluster.VERSION", "9.9.9")
    with pytest.raises(InputError, match=r"has gatefit 0\..*, here it is 9\.9\.9; install the"):
        next(connected(two.address))


@pytest.mark.parametrize("address", ["", "nonsense", "127.0.0.1:8786", "foo://host:1", "tcp://x"])
def test_what_is_no_address(address: str) -> None:
    with (
        pytest.raises(InputError, match="is no address of a scheduler; give it as tcp://host:port"),
        cluster(address),
    ):
        pass


def test_nobody_answers(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(cluster_module, "CONNECT_S", 0.5)
    with (
        pytest.raises(InputError, match=r"no scheduler answers at 'tcp://127.0.0.1:9' .*; start"),
        cluster("tcp://127.0.0.1:9"),
    ):
        pass


def test_without_the_extra(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(sys.modules, "distributed", None)
    with (
        pytest.raises(InputError, match=r"install the extra: pip install 'gatefit\[cluster\]'"),
        cluster("tcp://127.0.0.1:9"),
    ):
        pass
