"""What the walk gets from above: right layouts, found without asking about their boxes."""

from __future__ import annotations

from typing import Protocol

from synth.search.workers.judged import Found

LOOK_S = 0.25
"""Seconds between two looks at whether anything has come from above."""


class Above(Protocol):
    """Finds layouts beside the walk (``synth.search.above``)."""

    @property
    def busy(self) -> bool:
        """Whether more may come; the walk then has one worker less."""
        ...

    def gains(self) -> list[Found]:
        """Layouts that have come since the last call; each keeps every limit in force."""
        ...


class NothingAbove:
    """Nothing comes from above."""

    busy = False

    def gains(self) -> list[Found]:
        """No layouts."""
        return []
