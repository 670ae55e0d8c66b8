"""One job of a batch: a question, what is known about it, and how long to try.

A job is plain data and ``run_job`` a plain function, so that any executor can run it: threads here,
each with a worker process of its own, or the workers of a cluster.
"""

from __future__ import annotations

import time
from collections.abc import Callable
from dataclasses import dataclass, field

from synth.layout import Layout
from synth.library.canonical import Canonical
from synth.medium import Size
from synth.questions.box import BoxAnswer
from synth.questions.journal import Journal
from synth.questions.outcome import Outcome, Status
from synth.search.above.beyond import look_beyond
from synth.search.walk.searching import search
from synth.search.workers.batches import KeptByThreads
from synth.search.workers.crew import Crew, Stopped
from synth.search.workers.judged import Found
from synth.search.workers.settings import Settings


@dataclass(frozen=True)
class Job:
    """A question with a share of time.

    Attributes:
        asked: the question, in canonical form.
        name: a name for its function.
        share_s: seconds to try.
        known: the known answers about single boxes.
        settings: how to search.
        batch: the name of the build that the job belongs to.
        fewest_parts: whether to look for fewer parts in the box found.
        beyond: whether to look for a layout beyond the limits, and for no answer.
        starts: for that, right layouts to begin with.
    """

    asked: Canonical
    name: str
    share_s: float
    known: tuple[BoxAnswer, ...] = ()
    settings: Settings = field(default_factory=Settings)
    batch: str = ""
    fewest_parts: bool = False
    beyond: bool = False
    starts: tuple[Layout, ...] = ()


@dataclass(frozen=True)
class Result:
    """The result of a job.

    Attributes:
        outcome: the outcome, in canonical names.
        answers: new answers about single boxes.
        seconds: from the start of the job to its end.
        started: when it was started, as ``time.time`` gives it.
        beyond: the best layout that a job beyond the limits found; its outcome is undecided.
    """

    outcome: Outcome
    answers: tuple[BoxAnswer, ...]
    seconds: float
    started: float
    beyond: Found | None = None


@dataclass
class _Noting(Journal):
    """A journal that reports new answers as they come."""

    tell: Callable[[BoxAnswer], None] | None = None
    new: list[BoxAnswer] = field(default_factory=list)

    def note(self, entry: BoxAnswer) -> None:
        super().note(entry)
        self.new.append(entry)
        if self.tell is not None:
            self.tell(entry)


_CREWS = KeptByThreads(lambda: Crew(1))
"""A crew of one worker process for each thread and batch."""


def dismiss(batch: str) -> None:
    """End the worker processes that this process has for a batch, whatever they are doing.

    Running jobs of the batch fail, and so do later ones.
    """
    _CREWS.dismiss(batch)


def run_job(
    job: Job,
    tell: Callable[[BoxAnswer], None] | None = None,
    tell_beyond: Callable[[Found], None] | None = None,
) -> Result:
    """Answer a job in this thread and its worker process.

    Args:
        job: what to answer.
        tell: called with every answer about a single box as it comes.
        tell_beyond: called with every better layout that a job beyond the limits finds.

    Raises:
        Stopped: if the job's batch is dismissed.
    """
    began, started = time.perf_counter(), time.time()
    asked = job.asked
    if job.beyond:
        found = look_beyond(
            asked.problem,
            job.starts,
            time_limit_s=job.share_s,
            seed=job.settings.seed,
            is_over=lambda: _CREWS.is_dismissed(job.batch),
            tell=tell_beyond or (lambda found: None),
        )
        if _CREWS.is_dismissed(job.batch):
            raise Stopped
        nothing = Outcome(Status.UNDECIDED, reason="only layouts beyond the limits were sought")
        return Result(nothing, (), time.perf_counter() - began, started, found)
    journal = _Noting({}, entries=list(job.known), tell=tell)
    outcome = search(
        asked.problem,
        job.settings,
        time_limit_s=job.share_s,
        journal=journal,
        crew=_CREWS.own(job.batch),
        fewest=job.fewest_parts and "parts" not in asked.minimize,
    )
    return Result(outcome, tuple(journal.new), time.perf_counter() - began, started)


def effort(asked: Canonical, largest: Size) -> int:
    """A rough measure of how hard a question is: plays x ticks x cells of the largest box.

    It serves only to take short jobs first.
    """
    length, width, height = largest
    delay = asked.spec.limits.delay or 0
    return (1 << len(asked.spec.function.inputs)) * (delay + 1) * length * width * height
