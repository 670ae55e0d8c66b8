"""What a search tells those who watch it.

The search never prints. It sends events to a reporter; the command line's progress line, a log
and ``--json`` are reporters. Every ``BoxStarted`` is followed by one ``BoxEnded`` for the same
box, delay and cube, on failure too.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Protocol

from synth.medium import Size


@dataclass(frozen=True, slots=True)
class SearchStarted:
    """The walk begins: how many questions (a box and a delay each) lie ahead at most."""

    questions: int


@dataclass(frozen=True, slots=True)
class BoxStarted:
    """A question is put: is there a layout in ``size`` that meets ``delay`` ticks?

    Only one of the layouts of ``cube``, where that is not empty (``synth.questions.cubes``). With
    at most ``parts`` parts, where that is less than the limit asked.
    """

    number: int
    size: Size
    delay: int
    cube: str = ""
    parts: int | None = None


@dataclass(frozen=True, slots=True)
class BoxEnded:
    """A question is answered: ``answer`` is found, impossible, undecided or refused; or dropped.

    *Dropped*: another answer, or the end of the search, made this one needless.
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
    """Known signals are being placed in ``size`` within ``delay`` ticks, before the walk."""

    size: Size
    delay: int


@dataclass(frozen=True, slots=True)
class BestImproved:
    """A layout was found that is better than all before."""

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
    """Every layout with less than ``value`` of the first measure is ruled out by now."""

    measure: str
    value: int


@dataclass(frozen=True, slots=True)
class TimeLeft:
    """The walk may take about so many seconds more, if no layout is found before its end.

    An estimate from the boxes so far (``synth.search.walk.estimate``); nothing rests on it.
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
