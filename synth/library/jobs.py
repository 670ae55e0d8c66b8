"""One job of a batch: a question, what is known of it, and how long to try.

A job is plain data and ``run_job`` a plain function, so that any executor can run it: threads here
that each keep a worker process, or the workers of a cluster.
"""

from __future__ import annotations

import threading
import time
from collections.abc import Callable
from dataclasses import dataclass, field

from synth.library.asked import Asked
from synth.medium import Size
from synth.search.crew import Crew
from synth.search.journal import Entry as BoxAnswer
from synth.search.journal import Journal
from synth.search.outcome import Outcome
from synth.search.solve import solve


@dataclass(frozen=True)
class Job:
    """A question with a share of time.

    Attributes:
        asked: the question, in canonical form.
        name: a name for its function.
        share_s: seconds to try.
        known: answers about single boxes that are known.
        solver, seed: see ``synth.search.solve``.
    """

    asked: Asked
    name: str
    share_s: float
    known: tuple[BoxAnswer, ...] = ()
    solver: str = "cadical195"
    seed: int = 0


@dataclass(frozen=True)
class Result:
    """What came of a job.

    Attributes:
        outcome: in canonical names.
        answers: new answers about single boxes.
        seconds: from taking the job up to its end.
        started: when it was taken up, as ``time.time`` tells it.
    """

    outcome: Outcome
    answers: tuple[BoxAnswer, ...]
    seconds: float
    started: float


@dataclass
class _Noting(Journal):
    """A journal that passes new answers on as they come."""

    tell: Callable[[BoxAnswer], None] | None = None
    new: list[BoxAnswer] = field(default_factory=list)

    def note(self, entry: BoxAnswer) -> None:
        super().note(entry)
        self.new.append(entry)
        if self.tell is not None:
            self.tell(entry)


_LOCAL = threading.local()
_CREWS: list[Crew] = []
_CREWS_LOCK = threading.Lock()


def _crew() -> Crew:
    """The one worker process of this thread, kept from job to job: starting one costs as much
    as a small job.
    """
    crew: Crew | None = getattr(_LOCAL, "crew", None)
    if crew is None or crew.closed:
        crew = _LOCAL.crew = Crew(1)
        with _CREWS_LOCK:
            _CREWS.append(crew)
    return crew


def dismiss() -> None:
    """End the worker processes of all threads, whatever they are doing."""
    with _CREWS_LOCK:
        crews, _CREWS[:] = list(_CREWS), []
    for crew in crews:
        crew.close()


def run_job(job: Job, tell: Callable[[BoxAnswer], None] | None = None) -> Result:
    """Answer a job in this thread and its worker process.

    Args:
        job: what to answer.
        tell: told of every answer about a single box as it comes.
    """
    began, started = time.perf_counter(), time.time()
    asked = job.asked
    journal = _Noting({}, entries=list(job.known), tell=tell)
    outcome = solve(
        asked.spec,
        minimize=asked.minimize,
        solver=job.solver,
        seed=job.seed,
        time_limit_s=job.share_s,
        rules=asked.rules,
        workers=1,
        journal=journal,
        crew=_crew(),
    )
    return Result(outcome, tuple(journal.new), time.perf_counter() - began, started)


def effort(asked: Asked, largest: Size) -> int:
    """A rough measure of how hard a question is: plays x ticks x cells of the largest box.

    Good enough to take short jobs first; nothing else rests on it.
    """
    length, width, height = largest
    delay = asked.spec.limits.delay or 0
    return (1 << len(asked.spec.function.inputs)) * (delay + 1) * length * width * height
