"""What the threads of a process keep for a batch of work: a worker process each, as a rule.

Starting a process costs as much as a small job, so a thread keeps the one that it has from job to
job. A batch is all the work of one run. When it is dismissed, everything kept for it is ended.
"""

from __future__ import annotations

import threading
from collections.abc import Callable
from typing import Generic, Protocol, TypeVar

from synth.search.workers.crew import Stopped


class Closing(Protocol):
    """What can be ended, whatever it is doing."""

    @property
    def closed(self) -> bool: ...

    def close(self) -> None: ...


_Kept = TypeVar("_Kept", bound=Closing)


class KeptByThreads(Generic[_Kept]):
    """One thing for each thread and batch, made when it is first asked for.

    Args:
        make: makes one.
    """

    def __init__(self, make: Callable[[], _Kept]) -> None:
        self._make = make
        self._local = threading.local()
        self._of_batch: dict[str, list[_Kept]] = {}
        self._dismissed: set[str] = set()
        self._lock = threading.Lock()

    def own(self, batch: str) -> _Kept:
        """What this thread keeps for a batch.

        Raises:
            Stopped: if the batch has been dismissed.
        """
        with self._lock:
            if batch in self._dismissed:
                raise Stopped
            # In a cluster a thread serves many batches; what earlier ones had is closed by now.
            before: dict[str, _Kept] = getattr(self._local, "own", {})
            own = {name: kept for name, kept in before.items() if not kept.closed}
            if batch not in own:
                own[batch] = self._make()
                self._of_batch.setdefault(batch, []).append(own[batch])
            self._local.own = own
            return own[batch]

    def of(self, batch: str) -> list[_Kept]:
        """What all threads keep for a batch."""
        with self._lock:
            return list(self._of_batch.get(batch, ()))

    def is_dismissed(self, batch: str) -> bool:
        """Whether a batch has been dismissed."""
        with self._lock:
            return batch in self._dismissed

    def dismiss(self, batch: str) -> None:
        """End what is kept for a batch; whoever asks for it later is stopped."""
        with self._lock:
            self._dismissed.add(batch)
            kept = self._of_batch.pop(batch, [])
        for one in kept:
            one.close()
