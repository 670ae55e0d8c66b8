"""A census whose boxes are worked on in a cluster, as many at a time as it has places.

A job is one box or cube. It runs in a helper process of the machine that it comes to, and tells of
every layout at once, so that a census that is stopped keeps what was found by then.
"""

from __future__ import annotations

import contextlib
import queue
import uuid
from collections.abc import Iterator
from concurrent.futures import CancelledError, Future
from types import TracebackType
from typing import Self

from synth.census.helpers import LOST, Helpers, Told, received
from synth.census.running import Ended, Model, Task
from synth.search.workers.batches import KeptByThreads
from synth.search.workers.cluster import Cluster, cluster, tell

_HELPERS = KeptByThreads(lambda: Helpers(1))


def dismiss(batch: str) -> None:
    """End the helpers that this process has for a census, whatever they are doing."""
    _HELPERS.dismiss(batch)


def run_job(batch: str, number: int, task: Task) -> list[Model | Ended]:
    """In a worker of a cluster: work on a box, and tell of every layout at once.

    Args:
        batch: the census, and the topic that is told.
        number: that of the box.
        task: the box.

    Returns:
        Everything that the helper said; its last word is how it ended.

    Raises:
        Stopped: if the census is over.
    """
    helpers = _HELPERS.own(batch)
    helpers.begin(number, task)
    said: list[Model | Ended] = []
    while not said or isinstance(said[-1], Model):
        answer = helpers.take(None)
        assert answer is not None
        _, what = answer
        said.append(what)
        if isinstance(what, Model):
            tell(batch, answer)
    return said


class InCluster:
    """The places of a cluster for one census; a context manager that ends what runs there."""

    def __init__(self, hired: Cluster) -> None:
        self._hired = hired
        self._batch = uuid.uuid4().hex
        self._told: queue.Queue[tuple[int, Told]] = queue.Queue()
        self._busy: dict[int, Future[list[Model | Ended]]] = {}

    def __enter__(self) -> Self:
        self._hired.listen(self._batch, self._told.put)
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        for future in self._busy.values():
            future.cancel()
        self._hired.end_jobs(self._batch)

    @property
    def places(self) -> int:
        """How many boxes are worked on at the same time."""
        return self._hired.slots

    @property
    def busy(self) -> list[int]:
        """The numbers of the boxes at work."""
        return list(self._busy)

    @property
    def free(self) -> bool:
        """Whether another box can be begun."""
        return len(self._busy) < self.places

    def begin(self, number: int, task: Task) -> None:
        """Begin a box under a number of the caller's."""
        future = self._hired.executor.submit(run_job, self._batch, number, task)
        self._busy[number] = future
        future.add_done_callback(lambda done: self._end(number, done))

    def take(self, until: float | None) -> tuple[int, Model | Ended] | None:
        """What is told next, with the number of its box; None if ``until`` (monotonic) came first.

        Raises:
            Exception: what a box raised where it was worked on.
        """
        while True:
            mail = received(self._told, until)
            if mail is None:
                return None
            number, told = mail
            if number not in self._busy:
                continue  # It was told before, and ended.
            if isinstance(told, Model):
                return number, told
            del self._busy[number]
            if isinstance(told, Exception):
                raise told
            return number, told

    def _end(self, number: int, done: Future[list[Model | Ended]]) -> None:
        """Pass on how a box ended, and first every layout of it: one may not have been told."""
        try:
            said: list[Model | Ended] = done.result()
        except CancelledError:
            return
        except Exception as error:
            # The cluster's own errors say that the machine was lost, and others after it.
            lost = type(error).__module__.partition(".")[0] == "distributed"
            self._told.put((number, LOST if lost else error))
            return
        for what in said:
            self._told.put((number, what))


@contextlib.contextmanager
def in_cluster(address: str) -> Iterator[InCluster]:
    """Connect to a running scheduler for one census.

    Args:
        address: the address of the scheduler, as ``tcp://host:port``.

    Raises:
        InputError: if there is no such cluster, or it cannot be used.
    """
    with cluster(address, dismiss) as hired, InCluster(hired) as places:
        yield places
