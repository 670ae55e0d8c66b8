"""Building a library: jobs through an executor, answers into the store.

Questions that differ only in their limits form a chain, on which one job works at a time: small
limits first and, among questions that differ only in their delay, the longest delay first. A box
that is ruled out within a delay is ruled out within all shorter ones, and a layout found for one
question bounds the other questions that it also answers. Chains run side by side, small ones first.
A round gives every open question its share of time. Questions that stay open get another turn with
four times as much, as soon as a worker has nothing left to do in the round before. After its share,
a question that is open and has no layout gets as much time again for one beyond its limits of space
(``synth.library.beyond``), which answers nothing.

Several builds may work on one store. Each holds a chain in the store while it works on it
(``synth.library.holders``); the others leave that chain alone until it is let go.

The result of a job depends only on its question, its share, and what was known about its chain
before. So a build that was stopped and resumed ends like one that ran through, except where time
ran out. Only the process that builds writes to the store, and it writes each answer as it comes.
"""

from __future__ import annotations

import heapq
import queue
import time
from collections.abc import Callable
from concurrent.futures import FIRST_COMPLETED, Executor, Future, ThreadPoolExecutor, wait
from math import inf

from synth.library.agenda import Agenda
from synth.library.canonical import Canonical
from synth.library.chains import Chain, chains_of, shares
from synth.library.events import (
    BuildEnded,
    BuildStarted,
    Event,
    JobEnded,
    JobFailed,
    JobStarted,
    LeftToOthers,
    LookedBeyond,
    RoundStarted,
    Summary,
    Unwatched,
    Watcher,
)
from synth.library.holders import RENEW_S, Holder
from synth.library.jobs import Job, Result, dismiss, run_job
from synth.library.kept_answers import KeptAnswers
from synth.library.recipe import Recipe
from synth.library.store import Store
from synth.printable import cleaned
from synth.questions.box import BoxAnswer
from synth.questions.outcome import Status
from synth.search.workers.judged import Found
from synth.search.workers.settings import Settings

LOOK_S = 0.5
"""Seconds between two looks at what the running jobs have reported."""

FAILURES_BORNE = 2
"""How often a question is given out again after its worker failed; after that it is given up."""


class Build:
    """A build under way.

    Args:
        recipe: what to build.
        store: the store that holds what is known already, and gets the answers.
        executor: runs the jobs; None uses threads of this process, each with a worker process. The
            build does not shut down an executor that it is given.
        slots: how many jobs run at a time.
        watcher: gets the events of the build.
        time_limit_s: seconds after which the build stops; running jobs are ended, and what they
            have reported is kept.
        end_jobs: called with the name of the batch when the build ends, to end its jobs that run
            outside this process.
        chains: the recipe's questions (``chains_of``), if they have been worked out already.
        only_beyond: whether nothing is asked, and only layouts beyond the limits are sought, for
            open questions without one within them.
        settings: how jobs search; None takes the recipe's solver and seed, and the defaults.
    """

    def __init__(
        self,
        recipe: Recipe,
        store: Store,
        executor: Executor | None = None,
        slots: int = 2,
        watcher: Watcher | None = None,
        time_limit_s: float | None = None,
        end_jobs: Callable[[str], object] | None = None,
        chains: list[Chain] | None = None,
        settings: Settings | None = None,
        only_beyond: bool = False,
    ) -> None:
        self.recipe = recipe
        self.store = store
        self.executor = executor
        self.slots = slots
        self.watcher = watcher or Unwatched()
        self.time_limit_s = time_limit_s
        self.summary = Summary()
        self.chains = chains_of(recipe) if chains is None else chains
        self.total = sum(len(chain.questions) for chain in self.chains)
        self._holder = Holder.this()
        self._batch = self._holder.name
        self._held_on = time.monotonic()
        self._kept = KeptAnswers(store, recipe)
        self._agenda = Agenda(
            self._kept,
            shares(recipe.first_s, recipe.most_s),
            settings or Settings(recipe.solver, recipe.seed),
            self._batch,
            recipe.fewest_parts,
            only_beyond,
        )
        self._end_jobs = end_jobs
        self._told: queue.SimpleQueue[tuple[Canonical, BoxAnswer]] = queue.SimpleQueue()
        self._told_beyond: queue.SimpleQueue[tuple[Canonical, Found]] = queue.SimpleQueue()
        self._announced = -1
        self._deadline = inf
        self._running: dict[Future[Result], tuple[Chain, Job]] = {}

    def run(self) -> Summary:
        """Answer what can be answered within the recipe's time and the time limit.

        If an exception stops it (such as an interrupt from the keyboard), everything that jobs
        have reported is in the store.

        Raises:
            InputError: if the store cannot be used, or contradicts an answer that was found.
        """
        began = time.monotonic()
        self._deadline = inf if self.time_limit_s is None else began + self.time_limit_s
        self._recall()
        local = None
        if self.executor is None:
            local = ThreadPoolExecutor(max_workers=self.slots)
        try:
            self._work(local)
        finally:
            self._end(local)
            self.summary.seconds = time.monotonic() - began
        self._count()
        self._tell(BuildEnded(self.summary))
        return self.summary

    def _recall(self) -> None:
        """Note which questions the store has answered already."""
        for chain in self.chains:
            for asked in chain.questions:
                answer = self.store.answer(asked.key)
                if answer is not None and answer.proven:
                    self._agenda.done.add(asked.key)
        self.summary.recalled = len(self._agenda.done)
        self._tell(BuildStarted(self.total, len(self._agenda.done)))

    def _end(self, local: Executor | None) -> None:
        """End the running jobs, and keep what they have reported."""
        for future in self._running:
            future.cancel()
        if local is not None:
            local.shutdown(wait=False, cancel_futures=True)
        dismiss(self._batch)
        if self._end_jobs is not None:
            self._end_jobs(self._batch)
        if local is not None:
            local.shutdown(wait=True)
        self._write_told()
        for chain in self.chains:
            self._kept.share(chain)
        self.store.let_go(self._holder)

    # Giving out and taking in

    def _work(self, local: Executor | None) -> None:
        waiting = [(0, index) for index in range(len(self.chains))]
        heapq.heapify(waiting)
        running = self._running
        others: list[tuple[int, int]] = []
        told_of = 0
        while True:
            while waiting and len(running) < self.slots:
                place = heapq.heappop(waiting)
                chain = self.chains[place[1]]
                if not self._give_next(chain, local):
                    self._wait_for_next_round(place[1], waiting)
                elif chain.held_by_others:
                    others.append(place)
                if self.summary.stopped:
                    return
            if not running and not others:
                return
            if not running and len(others) != told_of:
                told_of = len(others)
                self._tell(LeftToOthers(told_of))
            done = self._look()
            left_to_others = bool(others)
            # The build that held a chain may have answered it, or may have ended.
            waiting += others
            heapq.heapify(waiting)
            others.clear()
            for future in done:
                chain, job = running.pop(future)
                self._take(chain, job, future)
                # Go on with this chain before others begin: its next question needs little more.
                heapq.heappush(
                    waiting, (chain.round - len(self._agenda.shares), self._index(chain))
                )
            if (running or left_to_others) and self._is_over():
                return

    def _look(self) -> set[Future[Result]]:
        """Wait a moment for jobs to end, and store what was reported meanwhile."""
        left = max(0.0, min(LOOK_S, self._deadline - time.monotonic()))
        done: set[Future[Result]] = set()
        if self._running:
            done, _ = wait(self._running, timeout=left, return_when=FIRST_COMPLETED)
        else:
            time.sleep(left)
        self._write_told()
        if time.monotonic() - self._held_on > RENEW_S:
            self._held_on = time.monotonic()
            self.store.hold_on(self._holder)
        return done

    def _is_over(self) -> bool:
        """Whether the time limit is up; if so, the build stops."""
        if time.monotonic() < self._deadline:
            return False
        self.summary.stopped = f"the time limit of {self.time_limit_s:g} seconds is up"
        return True

    def _index(self, chain: Chain) -> int:
        return next(index for index, other in enumerate(self.chains) if other is chain)

    def _wait_for_next_round(self, index: int, waiting: list[tuple[int, int]]) -> None:
        """Queue a chain for the next round, if any question of it is open."""
        chain = self.chains[index]
        chain.round, chain.next, chain.next_beyond = chain.round + 1, 0, 0
        still = (
            a for a in chain.questions if a.key not in self._agenda.done and a.key not in chain.left
        )
        if chain.round < len(self._agenda.shares) and any(still):
            heapq.heappush(waiting, (chain.round, index))

    def _give_next(self, chain: Chain, local: Executor | None) -> bool:
        """Give out a chain's next question, unless another build holds the chain.

        Returns whether there was a question to give out in this round.
        """
        chain.held_by_others = False
        if self._agenda.next(chain) is not None:
            if not chain.is_held and not self.store.hold(chain.box_key, self._holder):
                chain.held_by_others = True
                return True
            chain.is_held = True
        # Look again: the build that held the chain until now may have answered it.
        following = self._agenda.next(chain)
        if following is None:
            self._let_go(chain)
            return False
        asked, make = following
        self._give_out(chain, make(chain, asked), local)
        return True

    def _let_go(self, chain: Chain) -> None:
        if chain.is_held:
            self.store.let_go(self._holder, chain.box_key)
            chain.is_held = False

    def _give_out(self, chain: Chain, job: Job, local: Executor | None) -> None:
        """Give out a job; if that fails, the build stops."""
        if self._is_over():
            return
        if chain.round > self._announced:
            self._announced = chain.round
            self._tell(RoundStarted(job.share_s, self.total - len(self._agenda.done)))
        try:
            future = self._submit(job, local)
        except Exception as error:
            self.summary.stopped = f"no more jobs can be given out ({_said(error)})"
            return
        self._tell(JobStarted(job.name, job.asked, job.share_s, job.beyond))
        self._running[future] = (chain, job)

    def _submit(self, job: Job, local: Executor | None) -> Future[Result]:
        if local is None:
            assert self.executor is not None
            return self.executor.submit(run_job, job)
        asked = job.asked

        def tell(answer: BoxAnswer) -> None:
            self._told.put((asked, answer))

        def tell_beyond(found: Found) -> None:
            self._told_beyond.put((asked, found))

        return local.submit(run_job, job, tell, tell_beyond)

    def _take(self, chain: Chain, job: Job, future: Future[Result]) -> None:
        """Keep what a job found, and let the chain go on."""
        asked = job.asked
        try:
            result = future.result()
        except Exception as error:
            again = chain.failures[asked.key] < FAILURES_BORNE
            chain.failures[asked.key] += 1
            self._tell(JobFailed(chain.name, asked, _said(error), again))
            if not again:
                chain.left.add(asked.key)
                self.summary.failed += 1
            return
        outcome = result.outcome
        self.summary.jobs += 1
        self.summary.busy_s += result.seconds
        if job.beyond:
            self._take_beyond(chain, asked, result)
            return
        if outcome.status is Status.REFUSED:
            chain.left.add(asked.key)
            self.summary.refused += 1
        self._kept.at_the_end(asked, result, chain.name)
        if outcome.status in (Status.FOUND, Status.IMPOSSIBLE):
            self._agenda.done.add(asked.key)
        chain.next += 1
        self._tell(
            JobEnded(chain.name, asked, outcome, result.seconds, len(self._agenda.done), self.total)
        )

    def _take_beyond(self, chain: Chain, asked: Canonical, result: Result) -> None:
        layout = None if result.beyond is None else result.beyond.layout
        self._kept.keep_beyond(asked, layout, result.seconds)
        chain.next_beyond += 1
        answer = self.store.answer(asked.key)
        within = answer is not None and answer.layout is not None
        best = answer if answer is not None and within else self._kept.beyond(asked)
        size = None if best.layout is None else best.layout.size
        seconds = result.seconds
        self._tell(LookedBeyond(chain.name, asked, size, best.delay, within, seconds))

    def _write_told(self) -> None:
        """Store what running jobs have reported since the last look."""
        told: dict[str, tuple[Canonical, list[BoxAnswer]]] = {}
        while not self._told.empty():
            asked, answer = self._told.get()
            told.setdefault(asked.key, (asked, []))[1].append(answer)
        for asked, answers in told.values():
            self._kept.on_the_way(asked, answers)
        while not self._told_beyond.empty():
            asked, found = self._told_beyond.get()
            self._kept.keep_beyond(asked, found.layout)

    # Telling

    def _tell(self, event: Event) -> None:
        self.watcher.event(event)

    def _count(self) -> None:
        """Count the questions by their status."""
        for chain in self.chains:
            for asked in chain.questions:
                answer = self.store.answer(asked.key)
                name = str(Status.UNDECIDED if answer is None else answer.status)
                setattr(self.summary, name, getattr(self.summary, name) + 1)
                if answer is not None and self._kept.lacks_layout(asked):
                    known = self._kept.beyond(asked).layout is not None
                    self.summary.beyond += known
                    self.summary.without_layout += not known


def _said(error: Exception) -> str:
    said = cleaned(str(error))
    return f"{type(error).__name__}: {said}" if said else type(error).__name__
