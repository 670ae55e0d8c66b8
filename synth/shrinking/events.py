"""What shrinking tells those who watch it. It never prints; reporters do."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Protocol

from synth.layout import Layout
from synth.medium import Size
from synth.shrinking.aim import Judged


@dataclass(frozen=True, slots=True)
class ShrinkingStarted:
    """A layout of that size is to be shrunk; ``resumed`` if a journal had a better one."""

    size: Size
    delay: int | None
    parts: int
    resumed: bool


@dataclass(frozen=True, slots=True)
class MoveEnded:
    """A move was asked about: ``answer`` is found, impossible, undecided or dropped.

    *Dropped*: another one gained first.
    """

    kind: str
    answer: str
    cells: int
    clauses: int
    seconds: float


@dataclass(frozen=True, slots=True)
class Gained:
    """A layout was found, and judged, that is better than all before, by a move of that kind."""

    kind: str
    judged: Judged
    seconds: float

    @property
    def layout(self) -> Layout:
        """The layout."""
        return self.judged.layout

    @property
    def delay(self) -> int | None:
        """The ticks that it meets."""
        return self.judged.verdict.delay

    @property
    def size(self) -> Size:
        """Its size."""
        return self.layout.size

    @property
    def parts(self) -> int:
        """How many parts it has."""
        return self.layout.part_count


@dataclass(frozen=True, slots=True)
class Restarted:
    """Nothing was gained for long: it goes on from an earlier layout of that size."""

    size: Size


@dataclass(frozen=True, slots=True)
class ShrinkingEnded:
    """It is over, for that reason."""

    reason: str
    seconds: float


Event = ShrinkingStarted | MoveEnded | Gained | Restarted | ShrinkingEnded


class Reporter(Protocol):
    """Anything that watches."""

    def event(self, event: Event) -> None:
        """Take note of one event; must not raise."""


class Silent:
    """A reporter that ignores everything."""

    def event(self, event: Event) -> None:
        """Ignore the event."""
