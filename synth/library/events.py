"""The events that a build reports while it runs and at its end."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Protocol

from synth.library.canonical import Canonical
from synth.medium import Size
from synth.questions.outcome import Outcome


@dataclass(frozen=True, slots=True)
class QuestionsPrepared:
    """How many questions of a large recipe are prepared so far; the build has not begun."""

    questions: int


@dataclass(frozen=True, slots=True)
class BuildStarted:
    """A build begins: how many questions it has, and how many the store has answered already."""

    total: int
    known: int


@dataclass(frozen=True, slots=True)
class RoundStarted:
    """The first open question begins a round, with its seconds. Rounds may overlap."""

    share_s: float
    open: int


@dataclass(frozen=True, slots=True)
class JobStarted:
    """A question is worked on; or, ``beyond`` its limits, a layout for it is sought."""

    name: str
    asked: Canonical
    share_s: float
    beyond: bool = False


@dataclass(frozen=True, slots=True)
class LeftToOthers:
    """Only questions on which other builds work are left.

    This build waits for their answers, and asks the questions that they leave open.
    """

    questions: int


@dataclass(frozen=True, slots=True)
class JobEnded:
    """A question was answered, or its time is up.

    Attributes:
        name, asked, outcome: what was asked and what came of it.
        seconds: how long the job took.
        done, total: the numbers of questions decided so far, and of all questions.
    """

    name: str
    asked: Canonical
    outcome: Outcome
    seconds: float
    done: int
    total: int


@dataclass(frozen=True, slots=True)
class LookedBeyond:
    """A layout beyond the limits of an open question was sought.

    Attributes:
        name, asked: the question.
        size, delay: of the best one known now; None if none is.
        within: whether that keeps the limits after all, and is the best known answer now.
        seconds: how long the job took.
    """

    name: str
    asked: Canonical
    size: Size | None
    delay: int | None
    within: bool
    seconds: float


@dataclass(frozen=True, slots=True)
class JobFailed:
    """A job's worker failed; the job is given out again, or given up."""

    name: str
    asked: Canonical
    error: str
    again: bool


@dataclass
class Summary:
    """What a build did.

    Attributes:
        found, impossible, undecided: the questions by their status at the end.
        beyond: the undecided ones for which only a layout beyond the limits is known.
        without_layout: those for which no layout at all is known.
        jobs: the jobs run.
        recalled: questions that the store had answered before.
        failed: questions given up because their workers failed.
        refused: questions given up because the simulator rejects what was found, which is a bug.
        stopped: why the build was stopped early; "" if it was not.
        seconds: from beginning to end.
        busy_s: seconds of jobs, summed over workers.
    """

    found: int = 0
    impossible: int = 0
    undecided: int = 0
    beyond: int = 0
    without_layout: int = 0
    jobs: int = 0
    recalled: int = 0
    failed: int = 0
    refused: int = 0
    stopped: str = ""
    seconds: float = 0.0
    busy_s: float = 0.0


@dataclass(frozen=True, slots=True)
class BuildEnded:
    """A build is over."""

    summary: Summary


Event = (
    QuestionsPrepared
    | BuildStarted
    | RoundStarted
    | JobStarted
    | LeftToOthers
    | JobEnded
    | LookedBeyond
    | JobFailed
    | BuildEnded
)


class Watcher(Protocol):
    """Anything that watches a build."""

    def event(self, event: Event) -> None:
        """Take note of one event; must not raise."""


class Unwatched:
    """Ignores everything."""

    def event(self, event: Event) -> None:
        """Ignore the event."""
