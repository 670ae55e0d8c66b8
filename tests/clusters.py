"""A real scheduler and worker processes on this machine, for tests of clusters."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from pathlib import Path

import pytest

import synth
from synth.search.workers import cluster as cluster_module
from synth.search.workers.cluster import Cluster, cluster
from tests.cli.test_ending import children_of
from tests.waiting import GUARD_S, wait_until

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


def connected(address: str, dismiss: Callable[[str], object]) -> Iterator[Cluster]:
    """The cluster, once both workers are there."""

    def are_two() -> bool:
        with cluster(address, dismiss) as hired:
            return hired.slots == 2

    wait_until(are_two, "the workers do not come")
    with cluster(address, dismiss) as found:
        yield found


def require_nobody_left(scheduler: Scheduler) -> None:
    """Worker processes end when the build does; the cluster's own workers stay."""
    wait_until(lambda: not scheduler.children(), "a worker process lives on")
