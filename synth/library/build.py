"""Building a library: jobs through an executor, answers into the store.

Questions that ask the same of a layout but for limits form a chain, which is worked on by one job
at a time: small limits first and, of questions that differ in their delay only, the longest delay
first. Boxes ruled out within a delay are ruled out within all shorter ones, and a layout found for
one question bounds the others that it would do for. Chains run side by side, small ones first. A
round gives every open question its share of time; questions that stay open are returned to with
four times as much, as soon as a worker has nothing left to do in the round before.

What a job finds out depends on its question, on its share and on what was known of its chain
before it, and on nothing else: so a build that was stopped and taken up again ends as one that was
left alone, except where time ran out. Only the process that builds writes to the store, each
answer as it comes.
"""

from __future__ import annotations

import heapq
import queue
import time
import uuid
from collections import Counter
from collections.abc import Callable, Iterator
from concurrent.futures import FIRST_COMPLETED, Executor, Future, ThreadPoolExecutor, wait
from dataclasses import dataclass, field, replace
from math import inf

from synth.library.answer import Answer
from synth.library.asked import Asked, Naming
from synth.library.events import (
    BuildEnded,
    BuildStarted,
    Event,
    JobEnded,
    JobFailed,
    JobStarted,
    RoundStarted,
    Summary,
    Unwatched,
    Watcher,
)
from synth.library.jobs import Job, Result, dismiss, effort, run_job
from synth.library.recipe import Recipe
from synth.library.store import Store
from synth.questions.box import BoxAnswer, BoxQuestion
from synth.questions.measures import keeps
from synth.questions.outcome import Outcome, Status
from synth.questions.problem import Problem
from synth.search.workers.settings import Settings
from synth.simulator import check

GROWTH = 4.0
"""How much longer a question is tried at each return; that of the walk over boxes as well."""

LOOK_S = 0.5
"""Seconds between two looks at what jobs have told so far."""

FAILURES_BORNE = 2
"""How often a question is given out again after its worker failed; then it is left."""


@dataclass
class _Chain:
    """Questions about the same boxes, in the order they are asked.

    Attributes:
        name: of the function, for people.
        questions: longest delay first, small limits first.
        effort: of the first question.
        round, next: which share comes next, and for which question.
        failures: of each question's workers, by its key.
        left: keys of the questions that are given up.
    """

    name: str
    questions: list[Asked]
    effort: int
    round: int = 0
    next: int = 0
    failures: Counter[str] = field(default_factory=Counter)
    left: set[str] = field(default_factory=set)


class Build:
    """A build under way.

    Args:
        recipe: what to build.
        store: where answers go, and what is known already.
        executor: runs jobs; None: threads of this process, each with a worker process. One that
            is given is left as it is: whoever made it ends it.
        slots: jobs given out at a time.
        watcher: told of every job.
        time_limit_s: seconds after which the build stops; jobs under way are ended, what they
            told is kept.
        end_jobs: ends what is under way of a batch (its argument) elsewhere than in this process,
            when the build ends.
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
    ) -> None:
        self.recipe = recipe
        self.store = store
        self.executor = executor
        self.slots = slots
        self.watcher = watcher or Unwatched()
        self.time_limit_s = time_limit_s
        self.summary = Summary()
        self.chains = _chains(recipe)
        self.total = sum(len(chain.questions) for chain in self.chains)
        self._shares = shares(recipe.first_s, recipe.most_s)
        self._batch = uuid.uuid4().hex
        self._end_jobs = end_jobs
        self._told: queue.SimpleQueue[tuple[Asked, BoxAnswer]] = queue.SimpleQueue()
        self._done: set[str] = set()
        self._announced = -1
        self._deadline = inf
        self._running: dict[Future[Result], tuple[_Chain, Asked]] = {}

    def run(self) -> Summary:
        """Answer what can be answered within the recipe's time and the time limit.

        Stopped by an exception (a key, say), what jobs told until then is in the store.

        Raises:
            InputError: if the store cannot be used, or holds what contradicts an answer found.
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
        """Note what the store has answered already."""
        for chain in self.chains:
            for asked in chain.questions:
                answer = self.store.answer(asked.key)
                if answer is not None and answer.proven:
                    self._done.add(asked.key)
        self.summary.recalled = len(self._done)
        self._tell(BuildStarted(self.total, len(self._done)))

    def _end(self, local: Executor | None) -> None:
        """End what is under way, and keep what it told."""
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
            self._share_layouts(chain)

    # Giving out and taking in

    def _work(self, local: Executor | None) -> None:
        waiting = [(0, index) for index in range(len(self.chains))]
        heapq.heapify(waiting)
        running = self._running
        while True:
            while waiting and len(running) < self.slots:
                _, index = heapq.heappop(waiting)
                if not self._give_out(self.chains[index], local):
                    self._wait_for_next_round(index, waiting)
                if self.summary.stopped:
                    return
            if not running:
                return
            left = max(0.0, min(LOOK_S, self._deadline - time.monotonic()))
            done, _ = wait(running, timeout=left, return_when=FIRST_COMPLETED)
            self._write_told()
            for future in done:
                chain, asked = running.pop(future)
                self._take(chain, asked, future)
                # The chain goes on before others begin: its next question is nearly answered.
                heapq.heappush(waiting, (chain.round - len(self._shares), self._index(chain)))
            if running and self._is_over():
                return

    def _is_over(self) -> bool:
        """Whether the time limit is up, which stops the build."""
        if time.monotonic() < self._deadline:
            return False
        self.summary.stopped = f"the time limit of {self.time_limit_s:g} seconds is up"
        return True

    def _index(self, chain: _Chain) -> int:
        return next(index for index, other in enumerate(self.chains) if other is chain)

    def _wait_for_next_round(self, index: int, waiting: list[tuple[int, int]]) -> None:
        """Put a chain that has had its share behind all that have not, if any of it is open."""
        chain = self.chains[index]
        chain.round, chain.next = chain.round + 1, 0
        still = (a for a in chain.questions if a.key not in self._done and a.key not in chain.left)
        if chain.round < len(self._shares) and any(still):
            heapq.heappush(waiting, (chain.round, index))

    def _give_out(self, chain: _Chain, local: Executor | None) -> bool:
        """Give out a chain's next question; False if there is none in this round.

        If it cannot be given out, that stops the build.
        """
        job = self._next_job(chain)
        if job is None:
            return False
        if self._is_over():
            return True
        if chain.round > self._announced:
            self._announced = chain.round
            self._tell(RoundStarted(job.share_s, self.total - len(self._done)))
        try:
            future = self._submit(job, local)
        except Exception as error:
            self.summary.stopped = f"no more jobs can be given out ({_said(error)})"
            return True
        self._tell(JobStarted(job.name, job.asked, job.share_s))
        self._running[future] = (chain, job.asked)
        return True

    def _submit(self, job: Job, local: Executor | None) -> Future[Result]:
        if local is None:
            assert self.executor is not None
            return self.executor.submit(run_job, job)
        asked = job.asked

        def tell(answer: BoxAnswer) -> None:
            self._told.put((asked, answer))

        return local.submit(run_job, job, tell)

    def _next_job(self, chain: _Chain) -> Job | None:
        """The next question of a chain that is open and has not had this share yet."""
        while chain.next < len(chain.questions):
            asked = chain.questions[chain.next]
            if asked.key not in chain.left and self._is_due(asked, chain.round):
                return Job(
                    asked,
                    chain.name,
                    self._shares[chain.round],
                    (*self.store.ruled_out(asked), *self._layouts_for(asked, chain)),
                    Settings(self.recipe.solver, self.recipe.seed),
                    self._batch,
                    self.recipe.fewest_parts,
                )
            chain.next += 1
        return None

    def _is_due(self, asked: Asked, number: int) -> bool:
        """Whether a question is open and has not had the share of a round."""
        answer = self.store.answer(asked.key)
        if answer is None:
            return True
        if answer.proven:
            self._done.add(asked.key)
            return False
        return answer.seconds <= tried_before(self._shares, number)

    def _layouts_for(self, asked: Asked, chain: _Chain) -> Iterator[BoxAnswer]:
        """Layouts found for questions of a chain that would do for another of it."""
        limits = asked.spec.limits
        assert limits.delay is not None
        for other in chain.questions:
            answer = self.store.answer(other.key)
            if answer is None or answer.layout is None:
                continue
            if keeps(answer.layout, answer.delay, limits):
                yield BoxAnswer(BoxQuestion(answer.layout.size, limits.delay), answer.layout)

    def _take(self, chain: _Chain, asked: Asked, future: Future[Result]) -> None:
        """Keep what a job found, and let the chain go on."""
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
        self.store.rule_out(asked, result.answers)
        if outcome.status is Status.REFUSED:
            chain.left.add(asked.key)
            self.summary.refused += 1
        else:
            self.store.keep_answer(asked, _answer(asked, outcome), chain.name)
        if outcome.status in (Status.FOUND, Status.IMPOSSIBLE):
            self._done.add(asked.key)
        chain.next += 1
        self._tell(
            JobEnded(chain.name, asked, outcome, result.seconds, len(self._done), self.total)
        )

    def _write_told(self) -> None:
        """Write what running jobs have told since the last look."""
        told: dict[str, tuple[Asked, list[BoxAnswer]]] = {}
        while not self._told.empty():
            asked, answer = self._told.get()
            told.setdefault(asked.key, (asked, []))[1].append(answer)
        for asked, answers in told.values():
            self.store.rule_out(asked, answers)
            for answer in answers:
                if answer.layout is not None:
                    self._keep_as_best(asked, answer, "found on the way")

    def _share_layouts(self, chain: _Chain) -> None:
        """Keep what was found for a question of a chain for open ones that it does for as well:
        what works in 2 ticks also works in 3. At the end of every build, so that a kill loses none.
        """
        for asked in chain.questions:
            answer = self.store.answer(asked.key)
            if answer is not None and not answer.proven:
                for found in self._layouts_for(asked, chain):
                    if found.layout != answer.layout:
                        self._keep_as_best(asked, found, "found for another delay")

    def _keep_as_best(self, asked: Asked, found: BoxAnswer, how: str) -> None:
        """Keep a layout of a question that is open."""
        assert found.layout is not None
        verdict = check(found.layout, asked.spec, delay=asked.spec.limits.delay, rules=asked.rules)
        if not verdict.passes:
            return  # The search sees that, too, and says what it thinks of it.
        answer = Answer(
            Status.UNDECIDED,
            proven=False,
            layout=found.layout,
            delay=verdict.delay,
            claim=f"{how}; the search was stopped before its end",
            solver=self.recipe.solver,
            seed=self.recipe.seed,
        )
        self.store.keep_answer(asked, answer)

    # Telling

    def _tell(self, event: Event) -> None:
        self.watcher.event(event)

    def _count(self) -> None:
        """Count the questions by how they stand."""
        for chain in self.chains:
            for asked in chain.questions:
                answer = self.store.answer(asked.key)
                name = str(Status.UNDECIDED if answer is None else answer.status)
                setattr(self.summary, name, getattr(self.summary, name) + 1)


def _chains(recipe: Recipe) -> list[_Chain]:
    """The questions of a recipe in chains, those that take least first; none is met twice."""
    found: dict[str, _Chain] = {}
    met: set[str] = set()
    groups = [
        (name, [Asked.of(Problem(spec, recipe.minimize))[0] for spec in specs])
        for name, specs in recipe.chains()
    ]
    for name, questions in sorted(groups, key=lambda group: _effort(group[1])):
        chain = found.setdefault(questions[0].box_key, _Chain(name, [], _effort(questions)))
        chain.name = chain.name or name
        new = [asked for asked in questions if asked.key not in met]
        chain.questions += new
        met |= {asked.key for asked in new}
    return list(found.values())


def _effort(questions: list[Asked]) -> int:
    limits = questions[0].spec.limits
    return effort(questions[0], (limits.length or 1, limits.width or 1, limits.height or 1))


def _answer(asked: Asked, outcome: Outcome) -> Answer:
    """An outcome in canonical names, which those of a canonical question are already."""
    pins = asked.spec.pin_names
    answer = Answer.of(outcome, Naming({pin: pin for pin in pins}, None, pins))
    return answer if answer.claim else replace(answer, claim=outcome.reason)


def shares(first_s: float, most_s: float) -> list[float]:
    """Seconds a question gets, round by round: fourfold each time, the longest last."""
    found = [first_s]
    while found[-1] < most_s:
        found.append(min(most_s, found[-1] * GROWTH))
    return found


def tried_before(each: list[float], number: int) -> float:
    """Seconds of all rounds before one, and half its own.

    A question tried longer than that in all has had this round's share.
    """
    return sum(each[:number]) + each[number] / 2


def _said(error: Exception) -> str:
    return f"{type(error).__name__}: {error}" if str(error) else type(error).__name__
