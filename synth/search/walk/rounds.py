"""One pass over candidates in order, several questions at a time.

``Round`` decides what to ask next and when to stop; asking, judging and remembering is the walk's.

The last questions are put as cubes, so that no worker is idle (``synth.questions.cubes``). If a
cube has a layout, that ends all cubes of its box, and the box is asked about whole: so the
layout that comes out does not hang on which worker was first. Only a box that had used up its
share of the time keeps the cube's layout.
"""

from __future__ import annotations

import time
from collections import deque
from collections.abc import Sequence
from concurrent.futures import FIRST_COMPLETED, Future, wait
from dataclasses import dataclass
from itertools import islice
from typing import TYPE_CHECKING

from synth.questions.cubes import Cube
from synth.questions.events import BoxStarted
from synth.questions.measures import Candidate
from synth.search.workers.task import Reply

if TYPE_CHECKING:
    from synth.search.walk.walk import Walk
    from synth.search.workers.judged import Found


class OutOfTime(Exception):
    """The time limit came before the walk was over."""


@dataclass(frozen=True, slots=True)
class _Asked:
    """A question under way: its place in the order, its cube or None for the whole question,
    when it was put, when its share is up.
    """

    index: int
    cube: Cube | None
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
        self.queue: deque[tuple[int, Cube | None]] = deque()

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
                self._leave_open(asked.index)
                self.walk.abandon(future, asked.started)
            for index, _ in self.queue:
                self._leave_open(index)
            for index, found in self.layouts.items():
                self.walk.keep(self.candidates[index], found)

    def _leave_open(self, index: int) -> None:
        if index not in self.layouts:
            self.walk.open.setdefault(self.candidates[index], "not decided in time")

    def _ask_more(self) -> None:
        """Keep the crew busy, as long as an answer could still matter."""
        while len(self.pending) < self.walk.settings.workers:
            if not self.queue and not self._take_up_next():
                return
            index, cube = self.queue.popleft()
            candidate = self.candidates[index]
            until = None if self.share_s is None else time.monotonic() + self.share_s
            started = self.walk.start(candidate, self.parts, cube)
            future = self.walk.submit(candidate, self.parts, cube)
            self.pending[future] = _Asked(index, cube, started, until)

    def _take_up_next(self) -> bool:
        """Queue what to ask about the next candidate of which nothing is known, if any is left."""
        while self.best is None:
            step = next(self.upcoming, None)
            if step is None:
                return False
            index, candidate = step
            if self.walk.known(candidate, self.parts):
                self.best = index
            elif self._is_unknown(candidate):
                pieces = self.walk.pieces(candidate, self.parts, self._few_follow(index))
                self.queue.extend((index, piece) for piece in pieces)
                return True
        return False

    def _is_unknown(self, candidate: Candidate) -> bool:
        known = self.walk.known(candidate, self.parts)
        return known is None and candidate not in self.walk.open

    def _few_follow(self, index: int) -> bool:
        """Whether too few questions follow to keep the other workers busy.

        Not where the number of parts is brought down step by step: all but the last step find a
        layout, and there cubes would only be asked in vain.
        """
        if self.parts != self.walk.spec.limits.parts:
            return False
        others = self.walk.settings.workers - 1
        follow = filter(self._is_unknown, islice(self.candidates, index + 1, None))
        return len(list(islice(follow, others))) < others

    def _collect(self) -> None:
        """Take the answers that have come in, and give up on what has had its share."""
        ends = [asked.until for asked in self.pending.values() if asked.until is not None]
        deadline = self.walk.deadline
        until = min([*ends, *([] if deadline is None else [deadline])], default=None)
        timeout = None if until is None else max(0.0, until - time.monotonic())
        done, _ = wait(self.pending, timeout=timeout, return_when=FIRST_COMPLETED)
        for future in done:
            self._take(future, self.pending.pop(future))
        now = time.monotonic()
        if deadline is not None and now >= deadline and self.pending:
            raise OutOfTime
        for future, asked in list(self.pending.items()):
            if asked.until is not None and now >= asked.until and self.share_s is not None:
                del self.pending[future]
                if asked.index in self.layouts:
                    self.walk.abandon(future, asked.started)
                    continue
                candidate = self.candidates[asked.index]
                self.walk.give_up(candidate, future, asked.started, self.share_s)

    def _take(self, future: Future[Reply], asked: _Asked) -> None:
        """Take one answer."""
        index, cube = asked.index, asked.cube
        candidate = self.candidates[index]
        found = self.walk.take(candidate, self.parts, asked.started, future, cube)
        if found is not None:
            first = index not in self.layouts
            if first or cube is None:
                self.layouts[index] = found
            if first and cube is not None and candidate not in self.walk.hard:
                self.queue.appendleft((index, None))
            self.best = index if self.best is None else min(self.best, index)
        if index in self.layouts:
            self.walk.open.pop(candidate, None)
            self.walk.slow.discard(candidate)

    def _drop_later(self) -> None:
        """Stop what is not needed: what comes after the best in the order, and its cubes."""
        for future, asked in list(self.pending.items()):
            if not self._matters(asked.index, asked.cube):
                self.walk.abandon(future, asked.started)
                del self.pending[future]
        self.queue = deque(piece for piece in self.queue if self._matters(*piece))

    def _matters(self, index: int, cube: Cube | None) -> bool:
        return self.best is None or index < self.best or (index == self.best and cube is None)

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
