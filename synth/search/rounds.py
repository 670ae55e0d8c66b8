"""One pass over candidates in order, several questions at a time.

``Round`` decides what to ask next and when to stop; asking, judging and remembering is the walk's.
"""

from __future__ import annotations

import time
from collections.abc import Sequence
from concurrent.futures import FIRST_COMPLETED, Future, wait
from dataclasses import dataclass
from typing import TYPE_CHECKING

from synth.search.events import BoxStarted
from synth.search.measures import Candidate
from synth.search.task import Reply

if TYPE_CHECKING:
    from synth.search.walk import Found, Walk


class OutOfTime(Exception):
    """The time limit came before the walk was over."""


@dataclass(frozen=True, slots=True)
class _Asked:
    """A question under way: its place in the order, when it was put, when its share is up."""

    index: int
    started: BoxStarted
    until: float | None


class Round:
    """One pass over candidates in order, several questions at a time.

    Args:
        walk: asks and remembers.
        candidates: in order.
        parts: most parts, or None.
        share_s: seconds that one question may take, or None.
    """

    def __init__(
        self, walk: Walk, candidates: Sequence[Candidate], parts: int | None, share_s: float | None
    ) -> None:
        self.walk = walk
        self.candidates = candidates
        self.parts = parts
        self.share_s = share_s
        self.pending: dict[Future[Reply], _Asked] = {}
        self.layouts: dict[int, Found] = {}
        self.best: int | None = None
        self.upcoming = iter(enumerate(candidates))

    def run(self) -> Candidate | None:
        """The first candidate that has a layout, of those that were decided; None if none."""
        try:
            self._ask_more()
            while self.pending:
                self._collect()
                self._drop_later()
                self._ask_more()
            return self._settle()
        finally:
            for future, asked in self.pending.items():
                candidate = self.candidates[asked.index]
                self.walk.open.setdefault(candidate, "not decided in time")
                self.walk.abandon(future, asked.started)
            for index, found in self.layouts.items():
                self.walk.keep(self.candidates[index], found)

    def _ask_more(self) -> None:
        """Keep the crew busy, as long as an answer could still matter."""
        while self.best is None and len(self.pending) < self.walk.settings.workers:
            step = next(self.upcoming, None)
            if step is None:
                return
            index, candidate = step
            known = self.walk.known(candidate, self.parts)
            if known:
                self.best = index
            elif known is None and candidate not in self.walk.open:
                until = None if self.share_s is None else time.monotonic() + self.share_s
                started = self.walk.start(candidate)
                future = self.walk.submit(candidate, self.parts)
                self.pending[future] = _Asked(index, started, until)

    def _collect(self) -> None:
        """Take the answers that have come in, and give up on what has had its share."""
        ends = [asked.until for asked in self.pending.values() if asked.until is not None]
        deadline = self.walk.deadline
        until = min([*ends, *([] if deadline is None else [deadline])], default=None)
        timeout = None if until is None else max(0.0, until - time.monotonic())
        done, _ = wait(self.pending, timeout=timeout, return_when=FIRST_COMPLETED)
        for future in done:
            asked = self.pending.pop(future)
            candidate = self.candidates[asked.index]
            found = self.walk.take(candidate, self.parts, asked.started, future)
            if found is not None:
                self.layouts[asked.index] = found
                self.best = asked.index if self.best is None else min(self.best, asked.index)
        now = time.monotonic()
        if deadline is not None and now >= deadline and self.pending:
            raise OutOfTime
        for future, asked in list(self.pending.items()):
            if asked.until is not None and now >= asked.until and self.share_s is not None:
                del self.pending[future]
                candidate = self.candidates[asked.index]
                self.walk.give_up(candidate, future, asked.started, self.share_s)

    def _drop_later(self) -> None:
        """Stop what comes after the best in the order: its answer is not needed."""
        for future, asked in list(self.pending.items()):
            if self.best is not None and asked.index > self.best:
                self.walk.abandon(future, asked.started)
                del self.pending[future]

    def _settle(self) -> Candidate | None:
        """Note which answers count: those after the best came in by chance."""
        for candidate in self.candidates[: self.best]:
            answer = self.walk.ruled_out_by(candidate, self.parts)
            if answer is not None:
                self.walk.used.add(answer)
        if self.best is None:
            return None
        best = self.best
        self.layouts = {index: found for index, found in self.layouts.items() if index == best}
        return self.candidates[best]
