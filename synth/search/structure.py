"""Structure first: layouts of functions that are too large to ask whole.

A few small networks of inverters are found for the function (``synth.search.networks``), and a
solver places their signals in one box after the other. That finds layouts, often in a hundredth of
the time of the whole question, and proves nothing: what it finds is where the walk may stop.

The order of boxes is halved first, as if whatever holds a layout came after whatever does not:
that soon gives some layout where there are any. Then come those before it, in rounds: each box and
set of signals gets a share of conflicts, four times as many at each return. Shares are conflicts
and not seconds, so that every run that is not cut off by the time limit finds the same layout,
whatever the number of workers.
"""

from __future__ import annotations

import time
from collections.abc import Callable, Iterable, Sequence
from concurrent.futures import FIRST_COMPLETED, Future, wait
from dataclasses import dataclass

from synth.encoding import Question
from synth.encoding.signals import Signals
from synth.search.crew import Crew
from synth.search.events import Placing, Reporter, Silent
from synth.search.measures import Candidate
from synth.search.networks import pools
from synth.search.solvers import SOLVERS
from synth.search.task import Reply, Task
from synth.search.tidy import tidy
from synth.search.walk import Found, Settings
from synth.spec import Spec

Keep = Callable[[Candidate, Found], None]
"""Takes a layout and its place in the walk."""

SHARES = (4_000, 16_000, 64_000, 256_000)
"""Conflicts of a try, round by round; some 2,000 to 6,000 a second."""

ENOUGH = 16_000
"""Conflicts of the last round once there is a layout: to better it is the walk's work then."""

WINDOW = 6
"""So many boxes next to each other in the order, of which halving tries the roundest."""


@dataclass(frozen=True, slots=True)
class _Try:
    """A box and a set of signals to place in it; the lower the number, the better."""

    number: int
    candidate: Candidate
    signals: Signals


class StructureFirst:
    """Looks for layouts by placing known signals.

    Args:
        spec: what is asked.
        settings: how to search.
        crew: the workers.
        until: when to stop, as ``time.monotonic`` tells it, or None.
        reporter: told of every try.
        keep: given every better layout as it is found, so that nothing is lost to a stop.
    """

    def __init__(
        self,
        spec: Spec,
        settings: Settings,
        crew: Crew,
        until: float | None = None,
        reporter: Reporter | None = None,
        keep: Keep | None = None,
    ) -> None:
        self.spec = spec
        self.settings = settings
        self.crew = crew
        self.until = until
        self.reporter = reporter or Silent()
        self.keep = keep
        self.tries = 0
        self.best: tuple[_Try, Found] | None = None

    def run(
        self, candidates: Iterable[Candidate], shares: Sequence[int] = SHARES
    ) -> tuple[Candidate, Found] | None:
        """The best layout found, with its place in the walk; None if none was.

        Args:
            candidates: boxes and delays in order; the earlier the better.
            shares: conflicts of a try, round by round.
        """
        if not SOLVERS[self.settings.solver].budget:
            return None
        signals: dict[int, list[Signals]] = {}
        tries: list[_Try] = []
        for candidate in candidates:
            if candidate.delay not in signals:
                signals[candidate.delay] = pools(self.spec.function, candidate.delay, self.until)
            for chosen in signals[candidate.delay]:
                tries.append(_Try(len(tries), candidate, chosen))
        self._halve(tries, shares[0])
        tries = [item for item in tries if self._is_better(item)]
        for share in shares:
            tries = self._round(tries, share)
            settled = self.best is not None and share >= ENOUGH
            if not tries or settled or self._is_over():
                break
        return None if self.best is None else (self.best[0].candidate, self.best[1])

    def _halve(self, tries: Sequence[_Try], share: int) -> None:
        """Find some layout soon: try the middle of what is left, then one half of it."""
        firsts: dict[Candidate, _Try] = {}
        for item in tries:
            firsts.setdefault(item.candidate, item)
        left = list(firsts.values())
        while left and not self._is_over():
            middle = len(left) // 2
            window = left[middle : middle + WINDOW]
            item = max(window, key=lambda one: (min(one.candidate.size), -one.number))
            future = self._submit(item, share)
            timeout = None if self.until is None else max(0.0, self.until - time.monotonic())
            done, _ = wait([future], timeout=timeout)
            if not done:
                self.crew.stop(future)
                return
            self._take(item, future.result())
            found = self.best is not None and self.best[0] is item
            left = left[:middle] if found else left[middle + 1 :]

    def _is_over(self) -> bool:
        return self.until is not None and time.monotonic() >= self.until

    def _round(self, tries: Sequence[_Try], share: int) -> list[_Try]:
        """Give each try so many conflicts; the undecided ones that could still be better."""
        upcoming = iter(tries)
        pending: dict[Future[Reply], _Try] = {}
        undecided: list[_Try] = []
        try:
            while not self._is_over():
                while len(pending) < self.settings.workers:
                    item = next((item for item in upcoming if self._is_better(item)), None)
                    if item is None:
                        break
                    pending[self._submit(item, share)] = item
                if not pending:
                    break
                left = None if self.until is None else max(0.0, self.until - time.monotonic())
                done, _ = wait(pending, timeout=left, return_when=FIRST_COMPLETED)
                for future in done:
                    item = pending.pop(future)
                    if self._take(item, future.result()):
                        undecided.append(item)
                for future, item in list(pending.items()):
                    if not self._is_better(item):
                        self.crew.stop(future)
                        del pending[future]
        finally:
            for future in pending:
                self.crew.stop(future)
        undecided.sort(key=lambda item: item.number)
        return [item for item in undecided if self._is_better(item)]

    def _is_better(self, item: _Try) -> bool:
        """Whether a layout of that try would be better than the best so far."""
        return self.best is None or item.number < self.best[0].number

    def _submit(self, item: _Try, share: int) -> Future[Reply]:
        settings = self.settings
        size, delay = item.candidate
        self.tries += 1
        self.reporter.event(Placing(size, delay))
        question = Question(self.spec, size, delay, self.spec.limits.parts, settings.rules)
        return self.crew.submit(
            Task(
                question,
                settings.solver,
                settings.seed,
                signals=item.signals,
                conflicts=share,
            )
        )

    def _take(self, item: _Try, reply: Reply) -> bool:
        """Note what came of a try; whether it is undecided."""
        if reply.layout is not None and self._is_better(item):
            layout, verdict = tidy(
                reply.layout,
                self.spec,
                delay=item.candidate.delay,
                prefer=self.settings.prefer,
                rules=self.settings.rules,
            )
            if verdict.passes:
                self.best = (item, Found(layout, verdict))
                if self.keep is not None:
                    self.keep(item.candidate, self.best[1])
        return reply.answer == "undecided"
