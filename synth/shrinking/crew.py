"""Who asks windows: this process itself, or helpers in processes of their own, side by side."""

from __future__ import annotations

import contextlib
import queue
import subprocess
import threading
import time
from typing import Protocol

from synth.search.workers.child import receive, send, started
from synth.shrinking.asking import Asking, Reply, answer

LOST = Reply("undecided")
"""What a helper that died has answered."""


class Askers(Protocol):
    """Some places, each of which can be asked one window at a time."""

    places: int

    def ask(self, place: int, asking: Asking) -> None:
        """Ask a window at an idle place."""

    def take(self, until: float | None) -> tuple[int, Reply] | None:
        """The next answer with its place; None if ``until`` (monotonic clock) came first."""

    def drop(self, place: int) -> None:
        """Forget what is being asked at a place; it is idle then."""

    def close(self) -> None:
        """Leave no process behind."""


class Alone:
    """One place: this process. The same answers in every run."""

    places = 1

    def __init__(self) -> None:
        self._asking: Asking | None = None

    def ask(self, place: int, asking: Asking) -> None:
        """Note the window; ``take`` asks it."""
        self._asking = asking

    def take(self, until: float | None) -> tuple[int, Reply] | None:
        """Ask it now."""
        assert self._asking is not None
        reply = answer(self._asking, until)
        return 0, reply

    def drop(self, place: int) -> None:
        """Forget the window."""
        self._asking = None

    def close(self) -> None:
        """Nothing to close."""


class Helpers:
    """As many child processes; one that must stop is ended and replaced."""

    def __init__(self, places: int) -> None:
        self.places = places
        self._answers: queue.Queue[tuple[int, int, Reply | Exception]] = queue.Queue()
        self._generation = [0] * places
        self._threads: list[threading.Thread] = []
        self._processes = [self._started(place) for place in range(places)]

    def ask(self, place: int, asking: Asking) -> None:
        """Hand a window to a helper."""
        stream = self._processes[place].stdin
        assert stream is not None
        try:
            send(stream, asking)
        except OSError:
            self._answers.put((place, self._generation[place], LOST))

    def take(self, until: float | None) -> tuple[int, Reply] | None:
        """The next answer.

        Raises:
            Exception: what a window raised in a helper.
        """
        while True:
            timeout = None if until is None else max(0.0, until - time.monotonic())
            try:
                place, generation, reply = self._answers.get(timeout=timeout)
            except queue.Empty:
                return None
            if generation != self._generation[place]:
                continue
            if isinstance(reply, Exception):
                raise reply
            if reply is LOST:
                self.drop(place)
            return place, reply

    def drop(self, place: int) -> None:
        """End a helper at once and start another."""
        self._generation[place] += 1
        _end(self._processes[place])
        self._processes[place] = self._started(place)

    def close(self) -> None:
        """End every helper."""
        for place, process in enumerate(self._processes):
            self._generation[place] += 1
            _end(process)
        for thread in self._threads:
            thread.join()

    def _started(self, place: int) -> subprocess.Popen[bytes]:
        process = started("synth.shrinking.worker")
        listening = (place, self._generation[place], process)
        thread = threading.Thread(target=self._listen, args=listening, daemon=True)
        self._threads.append(thread)
        thread.start()
        return process

    def _listen(self, place: int, generation: int, process: subprocess.Popen[bytes]) -> None:
        assert process.stdout is not None
        with process.stdout:
            while True:
                try:
                    reply = receive(process.stdout)
                except (EOFError, OSError):
                    self._answers.put((place, generation, LOST))
                    return
                self._answers.put((place, generation, reply))


def _end(process: subprocess.Popen[bytes]) -> None:
    """End a helper; whoever listens to it closes its output."""
    process.kill()
    process.wait()
    if process.stdin is not None:
        with contextlib.suppress(OSError):
            process.stdin.close()


def crew(workers: int) -> Askers:
    """One worker is this process; more are helpers."""
    return Alone() if workers == 1 else Helpers(workers)
