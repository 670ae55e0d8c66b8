"""A census on a cluster: a real scheduler and two worker processes on this machine."""

from __future__ import annotations

import signal
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from synth.census.asking import take_census
from synth.census.in_cluster import InCluster, dismiss
from synth.census.journal import CensusJournal
from synth.census.result import Census
from synth.census.taking import run_census
from synth.errors import InputError
from synth.questions.census import CensusQuestion, free_spec
from synth.questions.events import BoxStarted, Event, FunctionFound, SearchEnded
from synth.questions.outcome import Status
from synth.search.workers.cluster import Cluster
from synth.search.workers.settings import Settings
from synth.spec.demands import with_limits
from tests.clusters import Scheduler, connected, patient, require_nobody_left, scheduler, two
from tests.waiting import Log

__all__ = ["patient", "scheduler", "two"]

pytest.importorskip("distributed", reason="the extra 'cluster' is not installed")

SMALL = {"length": 1, "width": 2, "height": 3, "delay": 1}
LARGE = (4, 2, 4)
"""A box that takes minutes at 3 ticks; its first layouts come after a second."""


def small() -> CensusQuestion:
    return CensusQuestion.of(with_limits(free_spec(2, 1), **SMALL))[0]


def large() -> CensusQuestion:
    return CensusQuestion.of(with_limits(free_spec(3, 1), delay=3), box=LARGE)[0]


def contents(census: Census) -> list[tuple[str, Any]]:
    """Each class with the box and delay of its smallest layout."""
    document = census.document()
    return sorted((entry["table"], entry["size"]) for entry in document["classes"])


@pytest.fixture
def hired(two: Scheduler) -> Iterator[Cluster]:
    yield from connected(two.address, dismiss)


def test_a_cluster_takes_the_same_census(two: Scheduler, hired: Cluster) -> None:
    question = small()
    with InCluster(hired) as places:
        there = run_census(question, Settings(), places=places)
    here = take_census(**SMALL)
    assert there.complete
    assert contents(there) == contents(here) != []
    require_nobody_left(two)


def test_a_worker_that_is_lost_costs_only_time(two: Scheduler, hired: Cluster) -> None:
    class Killer(Log):
        def event(self, event: Event) -> None:
            super().event(event)
            if isinstance(event, BoxStarted) and event.number == 4:
                two.workers[0].send_signal(signal.SIGKILL)

    with InCluster(hired) as places:
        there = run_census(small(), Settings(), places=places, reporter=Killer())
    assert two.workers.pop(0).wait() == -signal.SIGKILL
    assert there.complete
    assert contents(there) == contents(take_census(**SMALL))
    require_nobody_left(two)


def test_what_was_found_is_kept_when_a_census_is_stopped(
    two: Scheduler, hired: Cluster, tmp_path: Path
) -> None:
    """Its layouts are told while the box is still being worked on."""

    class Stopping(Log):
        def event(self, event: Event) -> None:
            super().event(event)
            if isinstance(event, FunctionFound):
                raise KeyboardInterrupt

    question = large()
    path = tmp_path / "journal.jsonl"
    with pytest.raises(KeyboardInterrupt), InCluster(hired) as places:
        run_census(
            question,
            Settings(),
            places=places,
            reporter=Stopping(),
            journal=CensusJournal(question, path),
        )
    require_nobody_left(two)
    assert CensusJournal(question, path).ledger.places()


def test_a_time_limit_ends_what_is_under_way_there(two: Scheduler, hired: Cluster) -> None:
    watching = Log()
    with InCluster(hired) as places:
        census = run_census(large(), Settings(), time_limit_s=0.5, places=places, reporter=watching)
    assert (census.status, census.reason) == (Status.UNDECIDED, "the time was up")
    assert isinstance(watching.events[-1], SearchEnded)
    require_nobody_left(two)


def test_in_one_call(two: Scheduler, hired: Cluster) -> None:
    there = take_census(**SMALL, cluster=two.address)
    assert contents(there) == contents(take_census(**SMALL))


def test_the_call_refuses_a_certificate_of_a_cluster(tmp_path: Path) -> None:
    with pytest.raises(InputError, match="the proofs would be written on the machines"):
        take_census(**SMALL, cluster="tcp://127.0.0.1:9", certificate=tmp_path / "proof")
