"""What the walk gets from above: right layouts, found without asking about their boxes."""

from __future__ import annotations

from typing import Protocol

from synth.layout import Layout
from synth.search.workers.judged import Found

LOOK_S = 0.25
"""Seconds between two looks at whether anything has come from above."""


class Above(Protocol):
    """Finds layouts beside the walk (``synth.search.above``)."""

    @property
    def busy(self) -> bool:
        """Whether more may come."""
        ...

    @property
    def at_work(self) -> bool:
        """Whether it is busy and does not rest; the walk then has one worker less."""
        ...

    @property
    def has_layout(self) -> bool:
        """Whether a layout has come that keeps the user's own limits, if not those assumed."""
        ...

    def rest(self, rests: bool) -> None:
        """Rest, if it can, or go on."""
        ...

    def gains(self) -> list[Found]:
        """Layouts that have come since the last call; each keeps every limit in force."""
        ...

    def offer(self, layout: Layout) -> None:
        """Hear of a layout that the walk found: it may be a start."""
        ...

    def join(self, processes: int) -> None:
        """Take over the places of workers of a walk that stands back."""
        ...


class NothingAbove:
    """Nothing comes from above."""

    busy = False
    at_work = False
    has_layout = False

    def rest(self, rests: bool) -> None:
        """Nobody works."""

    def gains(self) -> list[Found]:
        """No layouts."""
        return []

    def offer(self, layout: Layout) -> None:
        """Nobody wants it."""

    def join(self, processes: int) -> None:
        """Nobody works."""
