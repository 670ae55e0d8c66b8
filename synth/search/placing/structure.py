"""Structure first: layouts of functions that are too large to ask whole.

A few small networks of inverters are found for the function
(``synth.search.placing.networks``), and a solver places their signals in one box after another.
This finds layouts even where the whole question is too large to be asked. It proves nothing: it
only tells the walk where it may stop.

First a bisection over the order of boxes, as if all boxes without a layout came before all with
one, soon gives some layout if there is any. Then the boxes before it are tried in rounds: each box
and set of signals gets a share of conflicts, four times as many at each return. Shares are
conflicts and not seconds, so that every run that the time limit does not cut off finds the same
layout, whatever the number of workers.
"""

from __future__ import annotations

import time
from collections.abc import Callable, Iterable, Sequence
from concurrent.futures import FIRST_COMPLETED, Future, wait
from dataclasses import dataclass, field

from synth.encoding import Question
from synth.encoding.placing.signals import Signals
from synth.layout import Layout
from synth.questions.box import BoxQuestion
from synth.questions.events import Placing, Reporter, Silent
from synth.questions.problem import Problem
from synth.search.placing.networks import Network, networks, ticks_of_network
from synth.search.placing.pools import pools
from synth.search.workers.crew import Crew
from synth.search.workers.judged import Found, tidied
from synth.search.workers.settings import Settings
from synth.search.workers.solvers import SOLVERS
from synth.search.workers.task import Reply, Task

Keep = Callable[[BoxQuestion, Found], None]
"""A function that takes a layout and its place in the walk."""

SHARES = (4_000, 16_000, 64_000, 256_000)
"""The conflicts of one try in each round; a solver makes some 2,000 to 6,000 a second."""

LOOK_S = 0.5
"""Seconds between two looks at what else goes on."""

ENOUGH = 16_000
"""The conflicts of the last round after a layout was found; bettering it is left to the walk."""

WINDOW = 6
"""Bisection tries the roundest of this many boxes that follow each other in the order."""


@dataclass(frozen=True, slots=True)
class _Try:
    """A box and a set of signals to place in it; lower numbers are better."""

    number: int
    candidate: BoxQuestion
    signals: Signals


@dataclass
class Placer:
    """What looking for layouts of known structure needs.

    Attributes:
        problem: what is asked.
        settings: how to search.
        crew: the workers.
        until: when to stop, as ``time.monotonic`` gives it, or None.
        reporter: gets an event for every try.
        keep: called with every better layout as it is found, so that a stop loses nothing.
        look: called now and then while it waits, for whatever else goes on meanwhile.
    """

    problem: Problem
    settings: Settings
    crew: Crew
    until: float | None = None
    reporter: Reporter = field(default_factory=Silent)
    keep: Keep | None = None
    look: Callable[[], object] | None = None

    def waited(self, futures: Iterable[Future[Reply]]) -> set[Future[Reply]]:
        """Those that are done, as soon as one is; none if the time is up first."""
        waiting = list(futures)
        while True:
            left_s = LOOK_S
            if self.until is not None:
                left_s = min(left_s, max(0.0, self.until - time.monotonic()))
            done, _ = wait(waiting, timeout=left_s, return_when=FIRST_COMPLETED)
            if self.look is not None:
                self.look()
            if done or self.is_over():
                return done

    def is_over(self) -> bool:
        """Whether the time is up."""
        return self.until is not None and time.monotonic() >= self.until

    def accept(self, candidate: BoxQuestion, layout: Layout) -> Found | None:
        """Tidy a layout and pass it to ``keep``; None if the simulator or a limit rejects it."""
        found = tidied(layout, self.problem, candidate.delay, self.settings.prefer)
        most = self.problem.limits.parts
        if not found.verdict.passes or (most is not None and found.layout.part_count > most):
            return None
        if self.keep is not None:
            self.keep(candidate, found)
        return found


@dataclass
class StructureFirst(Placer):
    """Looks for layouts by placing known signals, one box at a time."""

    best: tuple[_Try, Found] | None = field(default=None, init=False)
    _networks: dict[int, list[Network]] = field(default_factory=dict, init=False)

    def networks(self, delay: int) -> list[Network]:
        """Small networks of the function within a delay, those with fewest inverters first."""
        if delay not in self._networks:
            spec = self.problem.spec
            found = networks(spec.function, ticks_of_network(spec, delay), until=self.until)
            self._networks[delay] = list(found)
        return self._networks[delay]

    def run(
        self, candidates: Iterable[BoxQuestion], shares: Sequence[int] = SHARES
    ) -> tuple[BoxQuestion, Found] | None:
        """The best layout found, with its place in the walk; None if there was none.

        Args:
            candidates: boxes and delays in order, the best first.
            shares: the conflicts of one try in each round.
        """
        if not SOLVERS[self.settings.placer].budget:
            return None
        signals: dict[int, list[Signals]] = {}
        tries: list[_Try] = []
        for candidate in candidates:
            if candidate.delay not in signals:
                signals[candidate.delay] = pools(
                    self.networks(candidate.delay),
                    candidate.delay,
                    chained=bool(self.problem.spec.chain),
                )
            for chosen in signals[candidate.delay]:
                tries.append(_Try(len(tries), candidate, chosen))
        self._halve(tries, shares[0])
        tries = [item for item in tries if self._is_better(item)]
        for share in shares:
            tries = self._round(tries, share)
            settled = self.best is not None and share >= ENOUGH
            if not tries or settled or self.is_over():
                break
        return None if self.best is None else (self.best[0].candidate, self.best[1])

    def _halve(self, tries: Sequence[_Try], share: int) -> None:
        """Find some layout soon by bisection: try the middle, then go on in one half."""
        firsts: dict[BoxQuestion, _Try] = {}
        for item in tries:
            firsts.setdefault(item.candidate, item)
        left = list(firsts.values())
        while left and not self.is_over():
            middle = len(left) // 2
            window = left[middle : middle + WINDOW]
            item = max(window, key=lambda one: (min(one.candidate.size), -one.number))
            future = self._submit(item, share)
            if not self.waited([future]):
                self.crew.stop(future)
                return
            self._take(item, future.result())
            found = self.best is not None and self.best[0] is item
            left = left[:middle] if found else left[middle + 1 :]

    def _round(self, tries: Sequence[_Try], share: int) -> list[_Try]:
        """Give each try ``share`` conflicts; returns undecided ones that could still be better."""
        upcoming = iter(tries)
        pending: dict[Future[Reply], _Try] = {}
        undecided: list[_Try] = []
        try:
            while not self.is_over():
                while len(pending) < self.settings.workers:
                    item = next((item for item in upcoming if self._is_better(item)), None)
                    if item is None:
                        break
                    pending[self._submit(item, share)] = item
                if not pending:
                    break
                for future in self.waited(pending):
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
        """Whether a layout of a try would be better than the best so far."""
        return self.best is None or item.number < self.best[0].number

    def _submit(self, item: _Try, share: int) -> Future[Reply]:
        settings = self.settings
        size, delay, _ = item.candidate
        self.reporter.event(Placing(size, delay))
        problem = self.problem
        question = Question(problem.spec, size, delay, problem.limits.parts, problem.rules)
        return self.crew.submit(
            Task(
                question,
                settings.placer,
                settings.seed,
                signals=item.signals,
                conflicts=share,
            )
        )

    def _take(self, item: _Try, reply: Reply) -> bool:
        """Note the result of a try; returns whether it is undecided."""
        if reply.layout is not None and self._is_better(item):
            found = self.accept(item.candidate, reply.layout)
            if found is not None:
                self.best = (item, found)
        return reply.answer == "undecided"
