"""How tests wait: for events, never for seconds; and a clock that moves only when it is told.

Whatever is waited for has a guard of ``GUARD_S`` seconds, far above what the slowest machine
needs. It ends a test that hangs; no test passes or fails by it.
"""

from __future__ import annotations

import time
from collections.abc import Callable, Iterator
from concurrent.futures import Future
from contextlib import contextmanager
from typing import Any

import pytest

from synth.medium import Size
from synth.questions.events import BoxEnded, BoxStarted
from synth.search.workers.crew import Crew
from synth.search.workers.task import Reply, Task

GUARD_S = 600.0
"""Seconds after which something that is waited for has hung."""


def wait_until(condition: Callable[[], Any], what: str) -> None:
    """Wait until a condition holds.

    Args:
        condition: looked at again and again.
        what: said by the failure if it never holds.
    """
    real = time.perf_counter  # A test may have made ``time.monotonic`` stand still.
    began = real()
    while not condition():
        assert real() - began < GUARD_S, what
        time.sleep(0.01)


class Clock:
    """Stands in for ``time.monotonic``: it stands still until it is moved.

    So a time limit comes when a test says so, after the same answers on every machine.
    """

    def __init__(self) -> None:
        self.now = time.monotonic()
        self.over = False

    def __call__(self) -> float:
        if self.over:
            # Time flies: who looks at the clock only now must not wait for ever either.
            self.now += 1e6
        return self.now

    def run_out(self) -> None:
        """Let more time pass than any limit of a test allows; no crew answers any more."""
        self.now += 1e6
        self.over = True


@contextmanager
def standing_clock() -> Iterator[Clock]:
    """Within it, ``time.monotonic`` is a ``Clock``, and crews end when its time is over."""
    clock = Clock()
    submit = Crew.submit

    def submitted(crew: Crew, task: Task) -> Future[Reply]:
        return Future() if clock.over else submit(crew, task)

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(time, "monotonic", clock)
        patch.setattr(Crew, "submit", submitted)
        # No processor's time beside the clock's.
        patch.setattr(Crew, "processor_seconds", lambda crew, future: None)
        yield clock


class Log:
    """A reporter that keeps every event."""

    def __init__(self) -> None:
        self.events: list[Any] = []

    def event(self, event: Any) -> None:
        """Take note of one event."""
        self.events.append(event)


class RunsOut(Log):
    """A reporter that keeps every event and lets the time run out after so many answers.

    Args:
        clock: the clock of the search.
        answers: "no layout" so many times, then the time is over.
    """

    def __init__(self, clock: Clock, answers: int) -> None:
        super().__init__()
        self.clock = clock
        self.left = answers

    def event(self, event: Any) -> None:
        """Take note of one event."""
        super().event(event)
        if isinstance(event, BoxEnded) and event.answer == "impossible":
            self.left -= 1
            if self.left == 0:
                self.clock.run_out()


class TooHard(Log):
    """A reporter that keeps every event; the first question about a box uses up its share.

    Args:
        clock: the clock of the search.
        size: the box.
        share_s: more seconds than the share of one question, less than are left in all.
    """

    def __init__(self, clock: Clock, size: Size, share_s: float) -> None:
        super().__init__()
        self.clock = clock
        self.size: Size | None = size
        self.share_s = share_s

    def event(self, event: Any) -> None:
        """Take note of one event."""
        super().event(event)
        if isinstance(event, BoxStarted) and event.size == self.size:
            self.size = None
            self.clock.now += self.share_s
