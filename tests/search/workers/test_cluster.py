"""Connecting to a cluster: what is no cluster, and which one is refused."""

from __future__ import annotations

import sys

import pytest

from synth.errors import InputError
from synth.search.workers import cluster as cluster_module
from synth.search.workers.cluster import cluster
from tests.clusters import Scheduler, connected, patient, scheduler, two

__all__ = ["patient", "scheduler", "two"]

distributed = pytest.importorskip("distributed", reason="the extra 'cluster' is not installed")


def dismiss(batch: str) -> None:
    """Nothing runs in these clusters."""


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
        cluster(scheduler.address, dismiss),
    ):
        pass


def test_another_version_of_gatefit_is_refused(
    two: Scheduler, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Its answers may be about other layouts."""
    monkeypatch.setattr("synth.search.workers.cluster.VERSION", "9.9.9")
    with pytest.raises(InputError, match=r"has gatefit 0\..*, here it is 9\.9\.9; install the"):
        next(connected(two.address, dismiss))


@pytest.mark.parametrize("address", ["", "nonsense", "127.0.0.1:8786", "foo://host:1", "tcp://x"])
def test_what_is_no_address(address: str) -> None:
    with (
        pytest.raises(InputError, match="is no address of a scheduler; give it as tcp://host:port"),
        cluster(address, dismiss),
    ):
        pass


def test_nobody_answers(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(cluster_module, "CONNECT_S", 0.5)
    with (
        pytest.raises(InputError, match=r"no scheduler answers at 'tcp://127.0.0.1:9' .*; start"),
        cluster("tcp://127.0.0.1:9", dismiss),
    ):
        pass


def test_without_the_extra(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(sys.modules, "distributed", None)
    with (
        pytest.raises(InputError, match=r"install the extra: pip install 'gatefit\[cluster\]'"),
        cluster("tcp://127.0.0.1:9", dismiss),
    ):
        pass
