"""What tests of builds share: small recipes, executors that are not real, stores compared."""

from __future__ import annotations

import sqlite3
import tomllib
from collections.abc import Callable
from concurrent.futures import Executor, Future
from contextlib import closing
from pathlib import Path
from typing import Any

from synth.layout import Layout, Pin
from synth.library.events import Event
from synth.library.jobs import Job, Result
from synth.library.recipe import Recipe, read_recipe
from synth.medium import SOLID, Direction, Role, buffer
from synth.questions.box import BoxAnswer, BoxQuestion
from synth.questions.outcome import Outcome, Status
from synth.questions.statistics import Statistics
from synth.search.workers.judged import Found
from synth.simulator import check
from synth.spec import Spec

SMALL = {"length": 2, "width": 2, "height": 2}

RECIPE = """
[functions]
tables = ["01", "10", "0001", "0110", "0111"]
[time]
first = 300
[[asks]]
stack = "y"
delays = [1, 2]
length = 2
width = 2
height = 2
"""
"""Ten questions, all of them decided within seconds; the time is never up."""

TEN = read_recipe(tomllib.loads(RECIPE))


def recipe(*tables: str, delays: tuple[int, ...] = (2,), **more: Any) -> Recipe:
    """A recipe of a few functions in boxes of up to 2 x 2 x 2."""
    asks = more.pop("asks", [{"delays": list(delays), **SMALL}])
    return read_recipe({"functions": {"tables": list(tables)}, "asks": asks, **more})


def hard_recipe(**more: Any) -> Recipe:
    """One question that takes minutes, with easy boxes before the hard ones.

    By a solver that cannot stop after so many conflicts, so that the walk begins at once
    (``synth.search.placing.structure`` needs one that can).
    """
    ask = {"delays": [3], "length": 5, "width": 4, "height": 5}
    return recipe("0110100110010110", asks=[ask], solver="lingeling", **more)


def impossible(job: Job) -> Outcome:
    """A made-up answer: there is no layout."""
    return Outcome(Status.IMPOSSIBLE, reason="made up", stats=stats(job))


def undecided(job: Job) -> Outcome:
    """A made-up answer: the whole share was not enough."""
    return Outcome(Status.UNDECIDED, reason="made up", stats=stats(job, seconds=job.share_s))


def stats(job: Job, seconds: float = 0.0) -> Statistics:
    settings = job.settings
    return Statistics(solver=settings.solver, seed=settings.seed, seconds=seconds, bound=1)


def identity_found(job: Job) -> Outcome:
    """A right answer, in canonical names, for the identity: a buffer, which takes a tick."""
    layout = Layout(
        (1, 1, 2),
        {(0, 0, 0): SOLID, (0, 0, 1): buffer(Direction.PX, 1)},
        (
            Pin("x1", Role.INPUT, (0, 0, 1), Direction.NX),
            Pin("y1", Role.OUTPUT, (0, 0, 1), Direction.PX),
        ),
    )
    verdict = check(layout, Spec.parse("y1 = x1"), delay=1)
    assert verdict.passes
    return Outcome(Status.FOUND, layout, verdict, claim="made up", stats=stats(job))


class AtOnce(Executor):
    """Answers jobs as they are given out, by ``answer``; remembers them.

    Jobs beyond the limits are answered by ``beyond``, and remembered apart.
    """

    def __init__(
        self,
        answer: Callable[[Job], Outcome] = impossible,
        beyond: Callable[[Job], Found | None] = lambda job: None,
    ) -> None:
        self.answer = answer
        self.beyond = beyond
        self.jobs: list[Job] = []
        self.jobs_beyond: list[Job] = []

    def submit(self, fn: Any, /, *args: Any, **more: Any) -> Future[Any]:
        (job,) = args
        future: Future[Any] = Future()
        if job.beyond:
            self.jobs_beyond.append(job)
            nothing = Outcome(Status.UNDECIDED, reason="made up")
            future.set_result(Result(nothing, (), job.share_s, 0.0, self.beyond(job)))
            return future
        self.jobs.append(job)
        try:
            outcome = self.answer(job)
        except Exception as error:
            future.set_exception(error)
        else:
            told = BoxAnswer(BoxQuestion((1, 1, 1), job.asked.spec.limits.delay or 0), None)
            told_of = (told,) if outcome.status is Status.IMPOSSIBLE else ()
            future.set_result(Result(outcome, told_of, 0.1, 0.0))
        return future


class Noting:
    """A watcher that remembers everything."""

    def __init__(self) -> None:
        self.events: list[Event] = []

    def event(self, event: Event) -> None:
        self.events.append(event)

    def of(self, kind: type) -> list[Any]:
        return [event for event in self.events if isinstance(event, kind)]


def contents(path: Path) -> dict[str, Any]:
    """All that a store says, but for times and the order in which it learnt it."""
    with closing(sqlite3.connect(path)) as connection:
        rows = connection.execute(
            "SELECT key, name, asked, status, proven, layout, delay, bound, claim, proof, solver,"
            " seed, version FROM results LEFT JOIN layouts USING (number)"
        ).fetchall()
        boxes = connection.execute("SELECT * FROM ruled_out").fetchall()
    return {row[0]: row[1:] for row in rows} | {"boxes": sorted(boxes)}
