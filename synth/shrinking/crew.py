"""Who asks windows: this process itself, or helpers in processes of their own, side by side.

Placements of a circuit are tried in the same way (``synth.building.bursts``): what a crew is asked,
and what it answers, is up to who starts it.
"""

from __future__ import annotations

import contextlib
import queue
import subprocess
import threading
import time
from collections.abc import Callable
from typing import Generic, Protocol, TypeAlias, TypeVar

from synth.search.workers.child import receive, send, started
from synth.shrinking.asking import Asking, Reply, answer

Order = TypeVar("Order")
Answer = TypeVar("Answer")
Taken = TypeVar("Taken", contravariant=True)
Given = TypeVar("Given", covariant=True)


class Crew(Protocol[Taken, Given]):
    """Some places, each of which can be asked one thing at a time."""

    places: int

    def ask(self, place: int, order: Taken) -> None:
        """Ask at an idle place."""

    def take(self, until: float | None) -> tuple[int, Given] | None:
        """The next answer with its place; None if ``until`` (monotonic clock) came first."""

    def drop(self, place: int) -> None:
        """Forget what is being asked at a place; it is idle then."""

    def close(self) -> None:
        """Leave no process behind."""


Askers: TypeAlias = Crew[Asking, Reply]
"""A crew that is asked windows."""


class Alone(Generic[Order, Answer]):
    """One place: this process. The same answers in every run.

    Args:
        answer: answers an order, until a time on the monotonic clock or however long it takes.
    """

    places = 1

    def __init__(self, answer: Callable[[Order, float | None], Answer]) -> None:
        self._answer = answer
        self._order: Order | None = None

    def ask(self, place: int, order: Order) -> None:
        """Note the order; ``take`` answers it."""
        self._order = order

    def take(self, until: float | None) -> tuple[int, Answer] | None:
        """Answer it now."""
        assert self._order is not None
        return 0, self._answer(self._order, until)

    def drop(self, place: int) -> None:
        """Forget the order."""
        self._order = None

    def close(self) -> None:
        """Nothing to close."""


class Lost:
    """Comes in place of the answer of a helper that died."""


class Helpers(Generic[Order, Answer]):
    """As many child processes; one that must stop is ended and replaced.

    Args:
        places: how many.
        module: what they run; its ``main`` answers orders (``child.serve``).
        lost: what counts as the answer of one that died.
    """

    def __init__(self, places: int, module: str, lost: Answer) -> None:
        self.places = places
        self._module = module
        self._lost = lost
        self._answers: queue.Queue[tuple[int, int, Answer | Exception | Lost]] = queue.Queue()
        self._generation = [0] * places
        self._threads: list[threading.Thread] = []
        self._processes = [self._started(place) for place in range(places)]

    def ask(self, place: int, order: Order) -> None:
        """Hand an order to a helper."""
        stream = self._processes[place].stdin
        assert stream is not None
        try:
            send(stream, order)
        except OSError:
            self._answers.put((place, self._generation[place], Lost()))

    def take(self, until: float | None) -> tuple[int, Answer] | None:
        """The next answer.

        Raises:
            Exception: what an order raised in a helper.
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
            if isinstance(reply, Lost):
                self.drop(place)
                return place, self._lost
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
        process = started(self._module)
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
                    self._answers.put((place, generation, Lost()))
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
    """Asks windows: one worker is this process; more are helpers."""
    if workers == 1:
        return Alone(answer)
    return Helpers(workers, "synth.shrinking.worker", Reply("undecided"))
