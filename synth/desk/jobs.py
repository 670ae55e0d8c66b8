"""Jobs that run behind a design, each in a process of its own: watched, and stopped at any time."""

from __future__ import annotations

import subprocess
import threading
from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Any

from synth import fields
from synth.desk.design import Design
from synth.desk.working import KINDS, News, Order
from synth.errors import InputError
from synth.layout import Layout
from synth.medium import Rules
from synth.search.workers.child import ended, receive, send, started

LONGEST_S = 24 * 3600
"""Most seconds that a job may be given."""

MOST_AT_ONCE = 4
"""Most jobs that run at a time."""


@dataclass
class Job:
    """A job as the page shows it.

    Attributes:
        number: from 1, in order.
        kind: what it does.
        text: how far it has come, or how it ended.
        best, bound: of its measure, where known.
        gains: numbers of the versions that it found.
        over: whether it has ended.
    """

    number: int
    kind: str
    time_limit_s: int
    text: str = "begins"
    best: int | None = None
    bound: int | None = None
    gains: list[int] = field(default_factory=list)
    over: bool = False

    def document(self) -> dict[str, Any]:
        """The job as the page reads it."""
        gap = None if self.best is None or self.bound is None else max(0, self.best - self.bound)
        return {
            "number": self.number,
            "kind": self.kind,
            "text": self.text,
            "seconds": self.time_limit_s,
            "best": self.best,
            "bound": self.bound,
            "gap": gap,
            "gains": self.gains,
            "over": self.over,
        }


class Jobs:
    """The jobs of one design.

    Args:
        keep: keeps a gain, and gives the number of its version: kind of job, layout, delay.
        post: has a call made in the thread that owns the design.
        changed: called there after whatever happened to a job.
    """

    def __init__(
        self,
        keep: Callable[[str, Layout, int | None], int],
        post: Callable[[Callable[[], None]], None],
        changed: Callable[[], None],
    ) -> None:
        self.jobs: list[Job] = []
        self._keep = keep
        self._post = post
        self._changed = changed
        self._processes: dict[int, subprocess.Popen[bytes]] = {}

    def begin(self, kind: object, design: Design, time_limit_s: object, rules: Rules) -> Job:
        """Begin a job.

        Raises:
            InputError: if there is no such job, or too many run already.
        """
        what = fields.choice(kind, tuple(KINDS), "kind", "job")
        seconds = fields.whole(time_limit_s, "seconds", low=1, high=LONGEST_S)
        if len(self._processes) >= MOST_AT_ONCE:
            raise InputError(f"{MOST_AT_ONCE} jobs run already", way_out="stop one of them")
        job = Job(len(self.jobs) + 1, what, seconds)
        self.jobs.append(job)
        order = Order(what, design.layout, design.locked, float(seconds), rules)
        process = self._processes[job.number] = started("synth.desk.working")
        threading.Thread(target=self._listen, args=(job, process, order), daemon=True).start()
        return job

    def stop(self, number: object) -> None:
        """End a job at once; what it gained is kept.

        Raises:
            InputError: if no such job runs.
        """
        process = self._processes.pop(fields.whole(number, "job"), None)
        if process is None:
            raise InputError(f"no job {fields.shown(number)} runs", place="job")
        job = self.jobs[int(str(number)) - 1]
        job.over, job.text = True, "It was stopped; what it gained is kept."
        ended(process)

    def close(self) -> None:
        """End all of them."""
        for process in self._processes.values():
            ended(process)
        self._processes.clear()

    def document(self) -> list[dict[str, Any]]:
        """All jobs, the last first."""
        return [job.document() for job in reversed(self.jobs)]

    def _listen(self, job: Job, process: subprocess.Popen[bytes], order: Order) -> None:
        """Hand over the order, and pass on all news until the process ends."""
        assert process.stdin is not None
        assert process.stdout is not None
        try:
            send(process.stdin, order)
            while True:
                news = receive(process.stdout)
                self._post(lambda news=news: self._hear(job, news))  # type: ignore[misc]
                if news.end is not None:
                    break
        except (EOFError, OSError, ValueError):
            self._post(lambda: self._hear(job, News(end="It ended early, and says no more.")))

    def _hear(self, job: Job, news: News) -> None:
        if job.over:
            return
        job.text = news.end or news.text or job.text
        job.best = job.best if news.best is None else news.best
        job.bound = job.bound if news.bound is None else news.bound
        if news.gain is not None:
            job.gains.append(self._keep(job.kind, news.gain, news.delay))
        if news.end is not None:
            job.over = True
            process = self._processes.pop(job.number, None)
            if process is not None:
                ended(process)
        self._changed()
