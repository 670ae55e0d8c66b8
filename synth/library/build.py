"""Building a library: jobs through an executor, answers into the store.

Questions that differ in their delay only form a chain, the longest delay first, one at a time:
boxes ruled out within a delay are ruled out within all shorter ones, and a smallest layout that
happens to be fast enough is the smallest within the shorter delay too. Chains run side by side,
small ones first. A round gives every open question its share of time; questions that stay open are
returned to in the next round with four times as much.

What a job finds out depends on its question, on its share and on what was known of its chain
before it, and on nothing else: so a build that was stopped and taken up again ends as one that was
left alone, except where time ran out. Only the process that builds writes to the store, each
answer as it comes.
"""

from __future__ import annotations

import queue
import time
from collections import deque
from collections.abc import Callable, Iterable
from concurrent.futures import FIRST_COMPLETED, Executor, Future, ThreadPoolExecutor, wait
from dataclasses import dataclass, field
from typing import Protocol

from synth.library.answer import Answer
from synth.library.asked import Asked
from synth.library.jobs import Job, Result, dismiss, effort, run_job
from synth.library.recipe import Recipe
from synth.library.store import Store
from synth.medium import DEFAULT_RULES
from synth.search.journal import Entry as BoxAnswer
from synth.search.measures import Candidate
from synth.search.outcome import Outcome, Status
from synth.spec import Spec

GROWTH = 4.0
"""How much longer a question is tried at each return; that of the walk over boxes as well."""

LOOK_S = 0.5
"""Seconds between two looks at what jobs have told so far."""

FAILURES_BORNE = 2
"""How often a job is given out again after its worker failed; then its chain is left."""


@dataclass(frozen=True, slots=True)
class JobEnded:
    """A job is done, or was answered by what was known already (``seconds`` 0)."""

    name: str
    asked: Asked
    outcome: Outcome
    seconds: float
    done: int
    total: int


@dataclass(frozen=True, slots=True)
class JobFailed:
    """A job's worker failed; the job is given out again or left."""

    name: str
    asked: Asked
    error: str
    again: bool


@dataclass(frozen=True, slots=True)
class RoundStarted:
    """Open questions get so many seconds each."""

    share_s: float
    open: int


Event = JobEnded | JobFailed | RoundStarted


class Watcher(Protocol):
    """Anything that watches a build."""

    def event(self, event: Event) -> None:
        """Take note of one event; must not raise."""


class Unwatched:
    """Ignores everything."""

    def event(self, event: Event) -> None:
        """Ignore the event."""


@dataclass
class Summary:
    """What a build did.

    Attributes:
        found, impossible, undecided: questions by how they stand at the end.
        jobs: jobs run.
        recalled: questions answered by the store alone.
        failed: questions left because their workers failed.
        seconds: from beginning to end.
        busy_s: seconds of jobs, summed over workers.
        idle_s: seconds that workers stood idle while jobs were left, summed.
    """

    found: int = 0
    impossible: int = 0
    undecided: int = 0
    jobs: int = 0
    recalled: int = 0
    failed: int = 0
    seconds: float = 0.0
    busy_s: float = 0.0
    idle_s: float = 0.0


@dataclass
class _Chain:
    """Questions that differ in their delay only, the longest first."""

    name: str
    questions: list[Asked]
    effort: int
    next: int = 0
    failures: int = 0
    left: set[str] = field(default_factory=set)


class Build:
    """A build under way.

    Args:
        recipe: what to build.
        store: where answers go, and what is known already.
        executor: runs jobs; None: threads of this process, each with a worker process.
        slots: jobs given out at a time.
        watcher: told of every job.
    """

    def __init__(
        self,
        recipe: Recipe,
        store: Store,
        executor: Executor | None = None,
        slots: int = 2,
        watcher: Watcher | None = None,
    ) -> None:
        self.recipe = recipe
        self.store = store
        self.executor = executor
        self.slots = slots
        self.watcher = watcher or Unwatched()
        self.summary = Summary()
        self.chains = self._chains()
        self.total = sum(len(chain.questions) for chain in self.chains)
        self._told: queue.SimpleQueue[tuple[Asked, BoxAnswer]] = queue.SimpleQueue()
        self._done: set[str] = set()

    def _chains(self) -> list[_Chain]:
        chains: dict[str, _Chain] = {}
        for name, specs in self.recipe.chains():
            questions = [self._asked(spec) for spec in specs]
            size = _largest(specs[0])
            chain = _Chain(name, questions, effort(questions[0], size))
            # A function met twice, as a target and in a class, say, is asked once.
            chains.setdefault("".join(asked.key for asked in questions), chain)
        return sorted(chains.values(), key=lambda chain: chain.effort)

    def _asked(self, spec: Spec) -> Asked:
        return Asked.of(spec, self.recipe.minimize, DEFAULT_RULES)[0]

    def run(self) -> Summary:
        """Answer what can be answered within the recipe's time.

        Stopped by an exception (a key, say), what jobs told until then is in the store.
        """
        began = time.perf_counter()
        local = None
        if self.executor is None:
            local = ThreadPoolExecutor(max_workers=self.slots)
        try:
            for share in shares(self.recipe.first_s, self.recipe.most_s):
                if not self._round(share, local):
                    break
        finally:
            if local is not None:
                local.shutdown(wait=False, cancel_futures=True)
                dismiss()
                local.shutdown(wait=True)
            self._write_told()
            self.summary.seconds = time.perf_counter() - began
        self._count()
        return self.summary

    def _round(self, share: float, local: Executor | None) -> bool:
        """Give every open question its share; whether any was open."""
        tried_s = tried_before(self.recipe.first_s, share)
        for chain in self.chains:
            chain.next = 0
        ready = deque(self.chains)
        running: dict[Future[Result], tuple[_Chain, Asked]] = {}
        announced = False
        idle_since = time.perf_counter()
        try:
            while ready or running:
                while ready and len(running) < self.slots:
                    chain = ready.popleft()
                    job = self._next_job(chain, share, tried_s)
                    if job is None:
                        continue
                    if not announced:
                        self.watcher.event(RoundStarted(share, self.total - len(self._done)))
                        announced = True
                    running[self._submit(job, local)] = (chain, job.asked)
                if not running:
                    break
                waiting = self.slots - len(running) if ready else 0
                idle_since = time.perf_counter()
                done, _ = wait(running, timeout=LOOK_S, return_when=FIRST_COMPLETED)
                self.summary.idle_s += waiting * (time.perf_counter() - idle_since)
                self._write_told()
                for future in done:
                    chain, asked = running.pop(future)
                    if self._take(chain, asked, future):
                        # The chain goes on before new ones begin: its next is nearly answered.
                        ready.appendleft(chain)
        finally:
            for future in running:
                future.cancel()
        return announced

    def _submit(self, job: Job, local: Executor | None) -> Future[Result]:
        if local is None:
            assert self.executor is not None
            return self.executor.submit(run_job, job)
        asked = job.asked
        tell: Callable[[BoxAnswer], None] = lambda answer: self._told.put((asked, answer))  # noqa: E731
        return local.submit(run_job, job, tell)

    def _next_job(self, chain: _Chain, share: float, tried_s: float) -> Job | None:
        """The next question of a chain that is open and has not had this share yet."""
        while chain.next < len(chain.questions):
            asked = chain.questions[chain.next]
            answer = self.store.answer(asked.key)
            if answer is not None and answer.proven:
                self._end(chain, asked, None, 0.0)
                chain.next += 1
                continue
            if asked.key in chain.left or (answer is not None and answer.seconds > tried_s):
                chain.next += 1
                continue
            known = [*self.store.ruled_out(asked), *self._faster_ones(chain)]
            return Job(asked, chain.name, share, tuple(known), self.recipe.solver, self.recipe.seed)
        return None

    def _faster_ones(self, chain: _Chain) -> Iterable[BoxAnswer]:
        """Smallest layouts within longer delays that are fast enough for this one."""
        asked = chain.questions[chain.next]
        limit = asked.spec.limits.delay
        for longer in chain.questions[: chain.next]:
            answer = self.store.answer(longer.key)
            if answer is None or not answer.proven or answer.layout is None:
                continue
            if answer.delay is not None and limit is not None and answer.delay <= limit:
                yield BoxAnswer(Candidate(answer.layout.size, limit), None, answer.layout)

    def _take(self, chain: _Chain, asked: Asked, future: Future[Result]) -> bool:
        """Keep what a job found; whether its chain goes on in this round."""
        try:
            result = future.result()
        except Exception as error:
            again = chain.failures < FAILURES_BORNE
            chain.failures += 1
            self.watcher.event(JobFailed(chain.name, asked, _said(error), again))
            if not again:
                chain.left.add(asked.key)
            return True
        self.summary.jobs += 1
        self.summary.busy_s += result.seconds
        self.store.rule_out(asked, result.answers)
        self.keep(asked, result.outcome, chain.name)
        if result.outcome.status is Status.REFUSED:
            chain.left.add(asked.key)
        self._end(chain, asked, result.outcome, result.seconds)
        chain.next += 1
        return True

    def keep(self, asked: Asked, outcome: Outcome, name: str) -> None:
        """Write an answer to the store."""
        if outcome.status is Status.REFUSED:
            return
        _, naming = Asked.of(asked.spec, asked.minimize, asked.rules)
        self.store.keep_answer(asked, Answer.of(outcome, naming, asked.minimize), name)

    def _end(self, chain: _Chain, asked: Asked, outcome: Outcome | None, seconds: float) -> None:
        if outcome is None:
            if asked.key in self._done:
                return
            self.summary.recalled += 1
            self._done.add(asked.key)
            return
        if outcome.status in (Status.FOUND, Status.IMPOSSIBLE):
            self._done.add(asked.key)
        done = len(self._done)
        self.watcher.event(JobEnded(chain.name, asked, outcome, seconds, done, self.total))

    def _write_told(self) -> None:
        """Write what running jobs have told since the last look."""
        told: dict[str, tuple[Asked, list[BoxAnswer]]] = {}
        while not self._told.empty():
            asked, answer = self._told.get()
            told.setdefault(asked.key, (asked, []))[1].append(answer)
        for asked, answers in told.values():
            self.store.rule_out(asked, answers)

    def _count(self) -> None:
        """Count the questions by how they stand."""
        for chain in self.chains:
            self.summary.failed += len(chain.left)
            for asked in chain.questions:
                answer = self.store.answer(asked.key)
                status = Status.UNDECIDED if answer is None else answer.status
                name = str(status)
                setattr(self.summary, name, getattr(self.summary, name) + 1)


def shares(first_s: float, most_s: float) -> list[float]:
    """Seconds a question gets, round by round: fourfold each time, the longest last."""
    found = [first_s]
    while found[-1] < most_s:
        found.append(min(most_s, found[-1] * GROWTH))
    return found


def tried_before(first_s: float, share: float) -> float:
    """Seconds of all rounds before one, and half its own.

    A question tried longer than that in all has had this round's share.
    """
    total, each = 0.0, first_s
    while each < share:
        total += each
        each *= GROWTH
    return total + share / 2


def _largest(spec: Spec) -> tuple[int, int, int]:
    limits = spec.limits
    return (limits.length or 1, limits.width or 1, limits.height or 1)


def _said(error: Exception) -> str:
    return f"{type(error).__name__}: {error}" if str(error) else type(error).__name__
