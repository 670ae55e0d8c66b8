"""One pass over candidates in order, several questions at a time.

``Round`` decides what to ask next and when to stop. The questioner asks and judges, and the ledger
remembers.

The last questions are asked as cubes, so that no worker is idle (``synth.questions.cubes``). If a
cube has a layout, all cubes of its box end, and the box is asked about as a whole: so the layout
that is found does not depend on which worker was first. Only a box that had used up its share of
the time keeps the cube's layout.
"""

from __future__ import annotations

import time
from collections import deque
from collections.abc import Sequence
from concurrent.futures import FIRST_COMPLETED, Future, wait
from dataclasses import dataclass, replace
from itertools import islice

from synth.questions.box import BoxQuestion
from synth.questions.cubes import Cube
from synth.search.walk.above import LOOK_S
from synth.search.walk.hope import is_hopeless
from synth.search.walk.questioner import Pending, Questioner
from synth.search.workers.judged import Found
from synth.search.workers.task import Reply

EASY = 60_000
"""Clauses, roughly, of a box that is quickly decided, so that one may as well start with it."""

PATIENCE = 4
"""At most this many times its share of the time a question has by the clock, where other processes
keep its worker waiting."""

BARELY = 0.1
"""What a question has not had of its share counts from this part of it on."""

MUCH_HARDER = 1.5
"""How many times more clauses a taller box may have to be asked about in place of a lower one."""


class OutOfTime(Exception):
    """The time limit came before the walk was over."""


class StoodBack(OutOfTime):
    """The walk has no hope of being over in time, and leaves its workers to others."""


@dataclass(frozen=True, slots=True)
class _Put:
    """A running question: its place in the order, and when its share of the time is up.

    ``since`` and ``until`` are as ``time.monotonic`` gives them.
    """

    index: int
    pending: Pending
    since: float
    until: float | None


class Round:
    """One pass over candidates in order, several questions at a time.

    Args:
        questioner: asks the questions.
        candidates: the candidates, in order.
        deadline: when to stop, as ``time.monotonic`` gives it, or None.
        share_s: the seconds that one question may take, or None.
        stands_back: whether to stop once there is no hope (``hope``), while something comes from
            above.
    """

    def __init__(
        self,
        questioner: Questioner,
        candidates: Sequence[BoxQuestion],
        deadline: float | None,
        share_s: float | None,
        *,
        stands_back: bool = False,
    ) -> None:
        self.questioner = questioner
        self.ledger = questioner.ledger
        self.candidates = candidates
        self.deadline = deadline
        self.share_s = share_s
        self.stands_back = stands_back
        self.given_up: list[BoxQuestion] = []
        self.under_way: dict[Future[Reply], _Put] = {}
        self.layouts: dict[int, Found] = {}
        self.best: int | None = None
        self.upcoming = iter(range(len(candidates)))
        self.number_of = {candidate: index for index, candidate in enumerate(candidates)}
        self.taken: set[int] = set()
        self.waiting: dict[int, int] = {}
        self.queue: deque[tuple[int, Cube | None]] = deque()

    def run(self) -> BoxQuestion | None:
        """The first decided candidate that has a layout; None if there is none."""
        try:
            self._stop_at_the_best()
            self._ask_more()
            while self.under_way:
                self._collect()
                self._drop_later()
                self._ask_more()
            return self._settle()
        finally:
            for put in self.under_way.values():
                self._leave_open(put.index)
                self.questioner.abandon(put.pending)
            for index, _ in self.queue:
                self._leave_open(index)
            for index, found in self.layouts.items():
                self.questioner.keep(self.candidates[index], found)

    def _leave_open(self, index: int) -> None:
        candidate = self.candidates[index]
        if index not in self.layouts and not self.ledger.is_open(candidate):
            self.ledger.leave_open(candidate, "not decided in time")

    def _ask_more(self) -> None:
        """Keep the crew busy while an answer could still matter."""
        while len(self.under_way) < self.questioner.workers:
            if not self.queue and not self._take_up_next():
                return
            index, cube = self.queue.popleft()
            since = time.monotonic()
            until = None if self.share_s is None else since + self.share_s
            pending = self.questioner.put(self.candidates[index], cube)
            self.under_way[pending.future] = _Put(index, pending, since, until)

    def _take_up_next(self) -> bool:
        """Queue questions about the next candidate about which nothing is known, if any is left."""
        # What comes from above may set the best far ahead: all before it must still be asked about.
        while (index := self._next()) is not None:
            if self.best is not None and index >= self.best:
                continue
            if self.ledger.known(self.candidates[index]):
                self.best = index
            if index in self.taken or not self._is_unknown(self.candidates[index]):
                continue
            asked = self._stand_in(index)
            if asked != index:
                self.waiting[index] = asked
            if asked in self.taken:
                continue
            self.taken.add(asked)
            pieces = self.questioner.pieces(self.candidates[asked], self._few_follow(asked))
            self.queue.extend((asked, piece) for piece in pieces)
            return True
        return False

    def _next(self) -> int | None:
        """The next candidate: one that waited in vain for a taller box, or the next in order."""
        asked = {put.index for put in self.under_way.values()} | {index for index, _ in self.queue}
        for index, standing in self.waiting.items():
            if standing not in asked:
                del self.waiting[index]
                return index
        return next(self.upcoming, None)

    def _stand_in(self, index: int) -> int:
        """The candidate to ask about in place of another, or that itself.

        "No" in a taller box answers for the lower ones (``covers_lower``). All candidates before
        the best have to be decided, so of those that only differ in height the tallest is asked
        about. Not if that is much harder: its share of the time may not be enough, and then each
        box decided on the way there is worth having. While no layout is known the taller box may
        have one, and the lower ones are asked about after all; so then only easy boxes stand in.
        """
        candidate = self.candidates[index]
        if not self.ledger.covers_lower:
            return index
        most: float = EASY
        if self.best is not None:
            most = max(most, MUCH_HARDER * self.questioner.expected_clauses(candidate))
        length, width, height = candidate.size
        chosen = index
        while True:
            height += 1
            taller = candidate._replace(size=(length, width, height))
            number = self.number_of.get(taller)
            if number is None or (self.best is not None and number >= self.best):
                return chosen
            if self.questioner.expected_clauses(taller) > most:
                return chosen
            if self._is_unknown(taller):
                chosen = number

    def _is_unknown(self, candidate: BoxQuestion) -> bool:
        return self.ledger.known(candidate) is None and not self.ledger.is_open(candidate)

    def _few_follow(self, index: int) -> bool:
        """Whether too few questions follow to keep the other workers busy.

        False where the number of parts is brought down step by step: all steps but the last find a
        layout, so cubes would be asked in vain.
        """
        if self.candidates[index].parts != self.ledger.problem.limits.parts:
            return False
        others = self.questioner.workers - 1
        follow = filter(self._is_unknown, islice(self.candidates, index + 1, None))
        return len(list(islice(follow, others))) < others

    def _collect(self) -> None:
        """Take the answers that have come in, and give up questions that have had their share."""
        ends = [put.until for put in self.under_way.values() if put.until is not None]
        deadline = self.deadline
        until = min([*ends, *([] if deadline is None else [deadline])], default=None)
        timeout = None if until is None else max(0.0, until - time.monotonic())
        if self.questioner.above.busy:
            timeout = LOOK_S if timeout is None else min(timeout, LOOK_S)
        done, _ = wait(self.under_way, timeout=timeout, return_when=FIRST_COMPLETED)
        for future in done:
            self._take(self.under_way.pop(future))
        if self.questioner.take_gains():
            self._stop_at_the_best()
        self.questioner.share_out()
        now = time.monotonic()
        if deadline is not None and now >= deadline and self.under_way:
            raise OutOfTime
        for future, put in list(self.under_way.items()):
            if put.until is not None and now >= put.until and self.share_s is not None:
                more_s = self._owed_s(put, self.share_s, now)
                if more_s > 0:
                    self.under_way[future] = replace(put, until=now + more_s)
                    continue
                del self.under_way[future]
                if put.index in self.layouts:
                    self.questioner.abandon(put.pending)
                else:
                    self.questioner.give_up(put.pending, self.share_s)
                    self.given_up.append(self.candidates[put.index])
        if self._is_hopeless(now):
            raise StoodBack

    def _owed_s(self, put: _Put, share_s: float, now: float) -> float:
        """The seconds that a question has not had of its share, where others used the processors.

        What others use is waited for, within limits (``PATIENCE``): a question that is given up has
        to begin anew.
        """
        had_s = self.questioner.crew.processor_seconds(put.pending.future)
        if had_s is None or now - put.since >= PATIENCE * share_s:
            return 0.0
        owed_s = share_s - had_s
        return max(owed_s, LOOK_S) if owed_s > BARELY * share_s else 0.0

    def _is_hopeless(self, now: float) -> bool:
        """Whether to stand back: a layout is known, and what is before it takes too long.

        If it is larger than the limits that were assumed, all candidates are before it.
        """
        above = self.questioner.above
        if not self.stands_back or not above.busy:
            return False
        if self.best is None and not above.has_layout:
            return False
        if self.share_s is None or self.deadline is None:
            return False
        before = self.candidates[: self.best]
        undecided = (asked for asked in before if self.ledger.known(asked) is None)
        left_s = self.deadline - now
        workers = self.questioner.workers
        return is_hopeless(undecided, self.given_up, self.share_s, left_s, workers)

    def _take(self, put: _Put) -> None:
        """Take one answer."""
        index, cube = put.index, put.pending.cube
        candidate = self.candidates[index]
        found = self.questioner.take(put.pending)
        if found is not None:
            first = index not in self.layouts
            if first or cube is None:
                self.layouts[index] = found
            if first and cube is not None and not self.ledger.is_hard(candidate):
                self.queue.appendleft((index, None))
            self.best = index if self.best is None else min(self.best, index)
        if index in self.layouts:
            self.ledger.close(candidate)

    def _stop_at_the_best(self) -> None:
        """Ask no further than the first candidate that is now known to have a layout."""
        for index, candidate in enumerate(self.candidates[: self.best]):
            if self.ledger.known(candidate):
                self.best = index
                return

    def _drop_later(self) -> None:
        """Stop questions that are not needed: those after the best in the order, and its cubes."""
        for future, put in list(self.under_way.items()):
            if not self._matters(put.index, put.pending.cube):
                self.questioner.abandon(put.pending)
                del self.under_way[future]
        self.queue = deque(piece for piece in self.queue if self._matters(*piece))

    def _matters(self, index: int, cube: Cube | None) -> bool:
        return self.best is None or index < self.best or (index == self.best and cube is None)

    def _settle(self) -> BoxQuestion | None:
        """Note which answers count; those after the best came in only by chance."""
        for candidate in self.candidates[: self.best]:
            answer = self.ledger.ruled_out_by(candidate)
            if answer is not None:
                # What a taller box says of it counts as much as an answer about itself: so a claim
                # does not depend on which of them was asked about.
                self.ledger.used.add(answer._replace(size=candidate.size))
            if self._is_unknown(candidate):
                # No claim can rest on an undecided question.
                self.ledger.leave_open(candidate, "not decided")
        if self.best is None:
            return None
        best = self.best
        self.layouts = {index: found for index, found in self.layouts.items() if index == best}
        return self.candidates[best]
