"""A gate with its frontier, a memory in dicts and a log of what is asked, for these tests."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from functools import cache

from synth.medium import Size
from synth.questions.box import BoxAnswer
from synth.questions.events import BoxEnded, BoxStarted, Event
from synth.questions.problem import Problem
from synth.search import Outcome
from synth.search.frontier.curve import Standing
from synth.search.frontier.frontier import DECIDED, Frontier, frontier
from synth.search.workers.settings import Settings
from synth.spec import Spec
from synth.spec.documents import write_spec

GATE = Spec.parse("q = a & ~b", length=3, width=2, height=3, delay=3, stack="y")
SETTINGS = Settings(workers=1)

Pairs = list[tuple[int, int]]


class Notes:
    """A memory in dicts."""

    def __init__(self) -> None:
        self.kept: dict[str, Outcome] = {}
        self.boxes: dict[int | None, list[BoxAnswer]] = {}

    def key(self, problem: Problem) -> str:
        return f"{write_spec(problem.spec)} {problem.measures} {problem.rules}"

    def known(self, problem: Problem) -> Outcome | None:
        return self.kept.get(self.key(problem))

    def recall(self, problem: Problem) -> Outcome | None:
        known = self.known(problem)
        return known if known is not None and known.status in DECIDED else None

    def keep(self, problem: Problem, outcome: Outcome) -> None:
        self.kept[self.key(problem)] = outcome

    def recall_boxes(self, problem: Problem) -> list[BoxAnswer]:
        return self.boxes.get(problem.limits.parts, [])

    def keep_boxes(self, problem: Problem, answers: Iterable[BoxAnswer]) -> None:
        noes = [entry for entry in answers if entry.layout is None]
        self.boxes.setdefault(problem.limits.parts, []).extend(noes)


class Log:
    """A reporter that keeps every event, and stops the search after so many answers."""

    def __init__(self, stop_after: int | None = None) -> None:
        self.events: list[Event] = []
        self.left = stop_after

    def event(self, event: Event) -> None:
        self.events.append(event)
        if self.left is not None and isinstance(event, BoxEnded):
            self.left -= 1
            if self.left == 0:
                raise KeyboardInterrupt

    @property
    def asked(self) -> Counter[tuple[Size, int]]:
        return Counter(
            (event.size, event.delay) for event in self.events if isinstance(event, BoxStarted)
        )


@cache
def answered() -> tuple[Frontier, Notes]:
    """The frontier of ``GATE``, and what a memory then holds (for ``copied``)."""
    notes = Notes()
    return frontier(GATE, settings=SETTINGS, memory=notes), notes


def copied() -> tuple[Frontier, Notes]:
    """``answered``, with a memory of the test's own."""
    found, kept = answered()
    notes = Notes()
    notes.kept = dict(kept.kept)
    notes.boxes = {most: list(entries) for most, entries in kept.boxes.items()}
    return found, notes


def values_of(found: Frontier) -> Pairs:
    return [(step.value or 0, step.first) for step in found.points]


def shown(found: Frontier) -> list[tuple[int, int, Standing, int | None, int | None]]:
    """All that a frontier says but for the layouts and the words."""
    return [(step.first, step.last, step.standing, step.value, step.bound) for step in found.steps]
