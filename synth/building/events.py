"""What building a circuit tells those who watch it. It never prints; reporters do."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Protocol

from synth.medium import Size


@dataclass(frozen=True, slots=True)
class StageDone:
    """A stage is done: its name, what came of it in words, and the seconds since the start."""

    stage: str
    words: str
    seconds: float


@dataclass(frozen=True, slots=True)
class Improved:
    """A better layout, judged: its size, delay in ticks and the seconds since the start."""

    size: Size
    delay: int | None
    seconds: float

    @property
    def volume(self) -> int:
        """Cells of its box."""
        return self.size[0] * self.size[1] * self.size[2]


Event = StageDone | Improved


class Watcher(Protocol):
    """Anything that can be told of events."""

    def event(self, event: Event) -> None:
        """Take note of one event."""


class Silent:
    """Tells nobody."""

    def event(self, event: Event) -> None:
        """Take note of nothing."""
