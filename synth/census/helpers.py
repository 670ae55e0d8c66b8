"""Processes that take the census of boxes, several at a time, and tell of every layout at once."""

from __future__ import annotations

import contextlib
import queue
import subprocess
import threading
import time
from types import TracebackType
from typing import Protocol, Self, TypeVar

from synth.census.running import Ended, Model, Task
from synth.search.workers.child import receive, send, started
from synth.search.workers.crew import Stopped

LOST = Ended(False, "its worker process was lost")
"""What is reported in place of an answer when a helper has died."""

Told = Model | Ended | Exception


Mail = TypeVar("Mail")


def received(mail: queue.Queue[Mail], until: float | None) -> Mail | None:
    """What comes next; None if ``until`` (monotonic) came first."""
    try:
        return mail.get(timeout=None if until is None else max(0.0, until - time.monotonic()))
    except queue.Empty:
        return None


class Helper:
    """One child process; it works on one box at a time."""

    def __init__(self, told: queue.Queue[tuple[Helper, Told]]) -> None:
        self._told = told
        self._process: subprocess.Popen[bytes] = started("synth.census.worker")
        self._thread = threading.Thread(target=self._listen, daemon=True)
        self._thread.start()

    def begin(self, task: Task) -> None:
        """Hand over a box."""
        assert self._process.stdin is not None
        # If the helper is gone, whoever listens to it reports that.
        with contextlib.suppress(OSError):
            send(self._process.stdin, task)

    def stop(self) -> None:
        """End the process at once, whatever it is doing."""
        self._process.kill()
        self._process.wait()
        if self._process.stdin is not None:
            with contextlib.suppress(OSError):
                self._process.stdin.close()
        self._thread.join()

    def _listen(self) -> None:
        assert self._process.stdout is not None
        with self._process.stdout:
            while True:
                try:
                    told = receive(self._process.stdout)
                except (EOFError, OSError):
                    self._told.put((self, LOST))
                    return
                self._told.put((self, told))


class Places(Protocol):
    """Where boxes are worked on, several at a time; ``Helpers`` says what its methods do."""

    @property
    def places(self) -> int: ...

    @property
    def busy(self) -> list[int]: ...

    @property
    def free(self) -> bool: ...

    def begin(self, number: int, task: Task) -> None: ...

    def take(self, until: float | None) -> tuple[int, Model | Ended] | None: ...


class Helpers:
    """Some helpers, each started when there is work for it; a context manager that ends them.

    Args:
        places: how many boxes are worked on at the same time.
    """

    def __init__(self, places: int) -> None:
        self.places = places
        self._told: queue.Queue[tuple[Helper, Told]] = queue.Queue()
        self._idle: list[Helper] = []
        self._busy: dict[Helper, int] = {}
        self._closed = False
        self._lock = threading.Lock()

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self.close()

    @property
    def closed(self) -> bool:
        """Whether it has been closed."""
        return self._closed

    def close(self) -> None:
        """End all helpers, whatever they are doing; another thread may wait in ``take``."""
        with self._lock:
            self._closed = True
            helpers = [*self._idle, *self._busy]
        for helper in helpers:
            helper.stop()

    @property
    def busy(self) -> list[int]:
        """The numbers of the boxes at work."""
        return list(self._busy.values())

    @property
    def free(self) -> bool:
        """Whether another box can be begun."""
        return len(self._busy) < self.places

    def begin(self, number: int, task: Task) -> None:
        """Begin a box under a number of the caller's.

        Raises:
            Stopped: if it has been closed.
        """
        with self._lock:
            if self._closed:
                raise Stopped
            helper = self._idle.pop() if self._idle else Helper(self._told)
            self._busy[helper] = number
        helper.begin(task)

    def take(self, until: float | None) -> tuple[int, Model | Ended] | None:
        """What is told next, with the number of its box; None if ``until`` (monotonic) came first.

        Raises:
            Exception: what a box raised in its helper.
        """
        while True:
            mail = received(self._told, until)
            if mail is None:
                return None
            helper, told = mail
            if helper not in self._busy:
                self._idle = [other for other in self._idle if other is not helper]
                continue
            number = self._busy[helper]
            if isinstance(told, Model):
                return number, told
            del self._busy[helper]
            if told is LOST:
                helper.stop()
            else:
                self._idle.append(helper)
            if isinstance(told, Exception):
                raise told
            return number, told
