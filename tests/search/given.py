"""Stands in for what comes from above."""

from __future__ import annotations

from synth.layout import Layout
from synth.search.workers.judged import Found


class Given:
    """Layouts that are there already, in place of processes that shrink.

    Attributes:
        busy: whether it says that more may come.
        joined: how many processes it was given.
        resting: whether it rests.
        has_layout: whether it says that it has a layout, within assumed limits or not.
    """

    def __init__(self, *found: Found, busy: bool = False) -> None:
        self.busy = busy
        self.joined = 0
        self.resting = False
        self.has_layout = bool(found)
        self._found = list(found)

    @property
    def at_work(self) -> bool:
        return self.busy and not self.resting

    def rest(self, rests: bool) -> None:
        self.resting = rests

    def gains(self) -> list[Found]:
        found, self._found = self._found, []
        return found

    def give(self, found: Found) -> None:
        self._found.append(found)

    def offer(self, layout: Layout) -> None:
        pass

    def join(self, processes: int) -> None:
        self.joined += processes
