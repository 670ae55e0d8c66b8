"""The events that a search reports.

The search never prints. It sends events to a reporter; the command line's progress line, a log
and ``--json`` are reporters. Every ``BoxStarted`` is followed by one ``BoxEnded`` for the same
box, delay and cube, even after a failure.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Protocol

from synth.medium import Size


@dataclass(frozen=True, slots=True)
class SearchStarted:
    """The walk begins; says how many questions (each a box and a delay) are ahead at most."""

    questions: int


@dataclass(frozen=True, slots=True)
class BoxStarted:
    """A question is asked: is there a layout in ``size`` that meets ``delay`` ticks?

    If ``cube`` is not empty, only layouts of that cube count (``synth.questions.cubes``). If
    ``parts`` is given, only layouts with at most that many parts count; it is then below the limit
    asked.
    """

    number: int
    size: Size
    delay: int
    cube: str = ""
    parts: int | None = None


@dataclass(frozen=True, slots=True)
class BoxEnded:
    """A question has ended: ``answer`` is found, impossible, undecided, refused or dropped.

    *Dropped* means that another answer, or the end of the search, made this question unnecessary.
    """

    number: int
    size: Size
    delay: int
    answer: str
    variables: int
    clauses: int
    seconds: float
    cube: str = ""
    parts: int | None = None


@dataclass(frozen=True, slots=True)
class Placing:
    """Before the walk, known signals are being placed in ``size`` within ``delay`` ticks."""

    size: Size
    delay: int


@dataclass(frozen=True, slots=True)
class BestImproved:
    """A layout was found that no earlier one is better than, by the measures asked."""

    size: Size
    delay: int | None
    parts: int


@dataclass(frozen=True, slots=True)
class FunctionFound:
    """A census found the first layout of a class of functions in a box.

    ``table`` holds its columns (``synth.questions.census.shown``); so many classes have a layout
    by now, of all that are counted, where their number is known.
    """

    table: str
    size: Size
    delay: int
    found: int
    counted: int | None


@dataclass(frozen=True, slots=True)
class BoundRaised:
    """Every layout with less than ``value`` of the first measure is now ruled out."""

    measure: str
    value: int


@dataclass(frozen=True, slots=True)
class TimeLeft:
    """About how many seconds the walk may still take, if no layout is found before its end.

    An estimate from the boxes so far (``synth.search.walk.estimate``), only for display.
    """

    seconds: float


@dataclass(frozen=True, slots=True)
class SearchEnded:
    """The walk is over, with the status of its outcome."""

    status: str
    seconds: float


Event = (
    SearchStarted
    | Placing
    | BoxStarted
    | BoxEnded
    | BestImproved
    | FunctionFound
    | BoundRaised
    | TimeLeft
    | SearchEnded
)


class Reporter(Protocol):
    """Anything that watches a search."""

    def event(self, event: Event) -> None:
        """Take note of one event; must not raise."""


class Silent:
    """A reporter that ignores everything."""

    def event(self, event: Event) -> None:
        """Ignore the event."""
