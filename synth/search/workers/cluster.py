"""A cluster as an executor: workers on other machines, through Dask's scheduler.

A job runs in a thread of a Dask worker, which keeps a worker process for it, as threads of this
process do. If a Dask worker is lost, the work on its jobs is lost: the scheduler gives them to
another worker. A job that loses several workers fails, like any job that raises.
"""

from __future__ import annotations

import contextlib
import logging
import pickle
import re
from collections.abc import Callable, Iterator
from concurrent.futures import Executor
from dataclasses import dataclass
from typing import Any

from synth.encoding import ENCODING_VERSION
from synth.errors import InputError
from synth.versions import VERSION

CONNECT_S = 10.0
"""Seconds to wait for a scheduler, and for its first worker."""

_ADDRESS = re.compile(r"(tcp|tls)://.+:[0-9]{1,5}")


@dataclass(frozen=True)
class Cluster:
    """A cluster that is connected.

    Attributes:
        executor: runs jobs there.
        slots: how many jobs it runs at a time: the threads of its workers.
        end_jobs: ends the jobs of a batch that run there, and their worker processes.
        listen: calls a function with whatever jobs tell a topic (``tell``), in a thread of its own.
    """

    executor: Executor
    slots: int
    end_jobs: Callable[[str], object]
    listen: Callable[[str, Callable[[Any], object]], object]


def tell(topic: str, value: Any) -> None:
    """In a job that runs in a cluster: tell whoever listens to a topic.

    What is told may come after the job's result, or not at all if the connection breaks, so the
    result must hold it as well.
    """
    from distributed import get_worker

    worker: Any = get_worker()  # It has no type hints.
    worker.log_event(topic, pickle.dumps(value))


@contextlib.contextmanager
def cluster(address: str, dismiss: Callable[[str], object]) -> Iterator[Cluster]:
    """Connect to a running scheduler.

    Args:
        address: the address of the scheduler, as ``tcp://host:port``.
        dismiss: a function of a module, called in every worker with the name of a batch, which
            ends the jobs of the batch there.

    Raises:
        InputError: if the extra is not installed, the address is malformed, no scheduler answers,
            it has no worker, or a worker lacks this version of gatefit.
    """
    try:
        from distributed import Client
    except ImportError:
        raise InputError(
            "a cluster needs the package 'distributed', which is not installed",
            way_out="install the extra: pip install 'gatefit[cluster]'",
        ) from None
    if not _ADDRESS.fullmatch(address):
        raise InputError(
            f"{address!r} is no address of a scheduler",
            way_out="give it as tcp://host:port, as 'dask scheduler' prints it",
        )
    # A run reports lost workers and connections in its own words.
    logging.getLogger("distributed").setLevel(logging.CRITICAL)
    try:
        connect: Any = Client  # It has no type hints.
        client = connect(address, timeout=CONNECT_S, set_as_default=False)
    except (OSError, ValueError, TypeError) as error:
        raise InputError(
            f"no scheduler answers at {address!r} ({type(error).__name__})",
            way_out="start one with 'dask scheduler', and give the address that it prints",
        ) from None
    with client:
        try:
            client.wait_for_workers(1, timeout=CONNECT_S)
        except TimeoutError:
            raise InputError(
                f"the scheduler at {address!r} has no workers",
                way_out=f"start some with 'dask worker {address} --nthreads 1'",
            ) from None
        _require_same_version(client)

        def end_jobs(batch: str) -> None:
            # A worker that has gone has no jobs to end.
            with contextlib.suppress(OSError, TimeoutError):
                client.run(dismiss, batch, on_error="ignore")

        def listen(topic: str, hear: Callable[[Any], object]) -> None:
            client.subscribe_topic(topic, lambda event: hear(pickle.loads(event[1])))

        executor = client.get_executor(pure=False)
        yield Cluster(executor, sum(client.nthreads().values()), end_jobs, listen)


def installed() -> tuple[str, int]:
    """The versions that an answer depends on, of program and formula, where this function runs."""
    return VERSION, ENCODING_VERSION


def _require_same_version(client: Any) -> None:
    """Refuse a cluster whose workers have another version of gatefit, or none."""
    found = client.run(installed, on_error="return")
    for worker, version in found.items():
        if isinstance(version, Exception):
            raise InputError(
                f"the worker at {worker} has no gatefit that it can load ({version})",
                way_out=f"install gatefit {VERSION} where the workers run",
            )
        if tuple(version) != installed():
            raise InputError(
                f"the worker at {worker} has gatefit {version[0]}, here it is {VERSION}",
                way_out="install the same version where the workers run",
            )
