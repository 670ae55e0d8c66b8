"""The walk over boxes and delays: which question to put next, and what the answers say.

``Walk`` puts questions to a crew of workers, keeps every answer, and draws what follows from
one answer for others:

- a layout that meets T meets every later tick (section 5: what is known stays known);
- no layout at T in a box: none at any earlier tick in that box, none with fewer parts.

Nothing is concluded from one box about another: with pins on the sides, a larger box does not
always hold what a smaller one does.
"""

from __future__ import annotations

import time
from collections.abc import Iterable, Sequence
from concurrent.futures import FIRST_COMPLETED, Future, wait
from dataclasses import dataclass

from synth.encoding import Question
from synth.layout import Layout
from synth.medium import DEFAULT_RULES, Rules
from synth.search.certificate_index import Proven
from synth.search.cover import Need
from synth.search.crew import Crew
from synth.search.events import BestImproved, BoxEnded, BoxStarted, Reporter, Silent
from synth.search.journal import Entry, Journal
from synth.search.measures import Candidate
from synth.search.solvers import DEFAULT_SOLVER
from synth.search.task import Reply, Task
from synth.search.tidy import tidy
from synth.simulator import check
from synth.simulator.verdict import Verdict
from synth.spec import Spec


@dataclass(frozen=True, slots=True)
class Settings:
    """How to search; none of it changes what is asked.

    Attributes:
        solver: a name of ``synth.search.solvers.SOLVERS``.
        seed: 0, or another order of variables and clauses.
        prefer: ``solid``, ``clear`` or ``ledge``, for cells that only hold a part up.
        workers: questions put at the same time.
        rules: the rule table.
        without: accelerations left out (``synth.encoding.ACCELERATIONS``), to measure them.
        evidence: a folder for the proof of every "no", or None: no proofs.
    """

    solver: str = DEFAULT_SOLVER
    seed: int = 0
    prefer: str = "solid"
    workers: int = 1
    rules: Rules = DEFAULT_RULES
    without: tuple[str, ...] = ()
    evidence: str | None = None


class OutOfTime(Exception):
    """The time limit came before the walk was over."""


class Refused(Exception):
    """The simulator rejects a layout that the solver found."""

    def __init__(self, layout: Layout, verdict: Verdict) -> None:
        super().__init__("the simulator rejects the layout that the solver found")
        self.layout = layout
        self.verdict = verdict


@dataclass(frozen=True, slots=True)
class Found:
    """A tidy layout that the simulator passes."""

    layout: Layout
    verdict: Verdict


class Walk:
    """Puts questions about one specification and remembers the answers.

    Args:
        spec: the specification.
        settings: how to search.
        crew: the workers.
        deadline: when to stop, as ``time.monotonic`` tells it, or None.
        reporter: told of every question and answer.
        journal: answers to start from, and where new ones are kept.
    """

    def __init__(
        self,
        spec: Spec,
        settings: Settings,
        crew: Crew,
        deadline: float | None = None,
        reporter: Reporter | None = None,
        journal: Journal | None = None,
    ) -> None:
        self.spec = spec
        self.settings = settings
        self.crew = crew
        self.deadline = deadline
        self.reporter = reporter or Silent()
        self.journal = journal
        self.found: dict[Candidate, Found] = {}
        self.impossible: set[tuple[Candidate, int | None]] = set()
        self.open: dict[Candidate, str] = {}
        self.proven: dict[Need, Proven] = {}
        self.questions = 0
        self.largest_formula = (0, 0)
        self.solve_seconds = 0.0

        self._recall()

    def _recall(self) -> None:
        """Start from the answers in the journal; the simulator judges each layout anew."""
        for entry in self.journal.entries if self.journal else ():
            if entry.layout is None:
                self.impossible.add((entry.candidate, entry.parts))
                continue
            delay, rules = entry.candidate.delay, self.settings.rules
            verdict = check(entry.layout, self.spec, delay=delay, rules=rules)
            if verdict.passes:
                self.found[entry.candidate] = Found(entry.layout, verdict)

    def _note(self, candidate: Candidate, parts: int | None, layout: Layout | None) -> None:
        if self.journal is not None:
            self.journal.note(Entry(candidate, parts, layout))

    def known(self, candidate: Candidate, parts: int | None) -> bool | None:
        """Whether a layout is known to exist (True), not to exist (False), or neither."""
        for (size, delay), found in self.found.items():
            meets = found.verdict.delay is not None and found.verdict.delay <= candidate.delay
            few = parts is None or found.layout.part_count <= parts
            if size == candidate.size and (meets or delay <= candidate.delay) and few:
                return True
        for (size, delay), most in self.impossible:
            covered = most is None or (parts is not None and parts <= most)
            if size == candidate.size and delay >= candidate.delay and covered:
                return False
        return None

    def layout_for(self, candidate: Candidate, parts: int | None = None) -> Found:
        """A layout known for a candidate, the one with the fewest parts."""
        fitting = [
            found
            for (size, _), found in self.found.items()
            if size == candidate.size
            and found.verdict.delay is not None
            and found.verdict.delay <= candidate.delay
            and (parts is None or found.layout.part_count <= parts)
        ]
        return min(fitting, key=lambda found: found.layout.part_count)

    def first(self, candidates: Sequence[Candidate], parts: int | None = None) -> Candidate | None:
        """The first candidate, in the order given, that has a layout; None if none has.

        Several are asked about at once; the answer is the same as if they were asked in turn.

        Raises:
            OutOfTime: when the deadline comes first.
            Refused: when the simulator rejects what the solver found.
        """
        limit = self._tighter(parts)
        before = set(self.impossible)
        pending: dict[Future[Reply], tuple[int, Candidate, BoxStarted]] = {}
        layouts: dict[int, Found] = {}
        best: int | None = None
        upcoming = iter(enumerate(candidates))
        try:
            while True:
                while best is None and len(pending) < self.settings.workers:
                    step = next(upcoming, None)
                    if step is None:
                        break
                    index, candidate = step
                    known = self.known(candidate, limit)
                    if known:
                        best = index
                    elif known is None and candidate not in self.open:
                        started = self._start(candidate)
                        pending[self._submit(candidate, limit)] = (index, candidate, started)
                if not pending:
                    if best is None:
                        return None
                    # Later answers came in by chance: they must not change what is said.
                    layouts = {best: layouts[best]} if best in layouts else {}
                    self.impossible -= {(later, limit) for later in candidates[best + 1 :]} - before
                    return candidates[best]
                for future in self._wait(pending):
                    index, candidate, started = pending.pop(future)
                    found = self._take(candidate, limit, started, future)
                    if found is not None:
                        layouts[index] = found
                        best = index if best is None else min(best, index)
                for future, (index, _, started) in list(pending.items()):
                    if best is not None and index > best:
                        self._abandon(future, started)
                        del pending[future]
        finally:
            for future, (_, _, started) in pending.items():
                self._abandon(future, started)
            for index, found in layouts.items():
                self._keep(candidates[index], found)

    def _tighter(self, parts: int | None) -> int | None:
        bounds = [most for most in (parts, self.spec.limits.parts) if most is not None]
        return min(bounds) if bounds else None

    def _submit(self, candidate: Candidate, parts: int | None) -> Future[Reply]:
        settings = self.settings
        question = Question(
            self.spec, candidate.size, candidate.delay, parts=parts, rules=settings.rules
        )
        task = Task(
            question.without(settings.without), settings.solver, settings.seed, settings.evidence
        )
        return self.crew.submit(task)

    def _wait(self, pending: Iterable[Future[Reply]]) -> set[Future[Reply]]:
        timeout = None if self.deadline is None else max(0.0, self.deadline - time.monotonic())
        done, _ = wait(pending, timeout=timeout, return_when=FIRST_COMPLETED)
        if not done:
            raise OutOfTime
        return done

    # Every start has its end

    def _start(self, candidate: Candidate) -> BoxStarted:
        self.questions += 1
        started = BoxStarted(self.questions, candidate.size, candidate.delay)
        self.reporter.event(started)
        return started

    def _end(self, started: BoxStarted, answer: str, reply: Reply | None = None) -> None:
        reply = reply or Reply(answer)
        self.reporter.event(
            BoxEnded(
                started.number,
                started.size,
                started.delay,
                answer,
                reply.variables,
                reply.clauses,
                reply.encode_seconds + reply.solve_seconds,
            )
        )

    def _abandon(self, future: Future[Reply], started: BoxStarted) -> None:
        self.crew.stop(future)
        self._end(started, "dropped")

    def _take(
        self,
        candidate: Candidate,
        parts: int | None,
        started: BoxStarted,
        future: Future[Reply],
    ) -> Found | None:
        """Note an answer; give the layout if it is one."""
        try:
            reply = future.result()
        except BaseException:
            self._end(started, "undecided")
            raise
        self.largest_formula = max(self.largest_formula, (reply.variables, reply.clauses))
        self.solve_seconds += reply.solve_seconds
        if reply.layout is None:
            if reply.answer == "impossible":
                self.impossible.add((candidate, parts))
                self._note(candidate, parts, None)
                if reply.evidence is not None:
                    need = Need(*candidate, parts)
                    self.proven[need] = Proven(need, reply.evidence)
            else:
                self.open[candidate] = reply.reason
            self._end(started, reply.answer, reply)
            return None
        try:
            found = self._judge(candidate, reply.layout)
        except BaseException:
            self._end(started, "refused", reply)
            raise
        self._end(started, "found", reply)
        self._note(candidate, parts, found.layout)
        return found

    def _judge(self, candidate: Candidate, layout: Layout) -> Found:
        tidied, verdict = tidy(
            layout,
            self.spec,
            delay=candidate.delay,
            prefer=self.settings.prefer,
            rules=self.settings.rules,
        )
        if not verdict.passes:
            raise Refused(layout, verdict)
        return Found(tidied, verdict)

    def _keep(self, candidate: Candidate, found: Found) -> None:
        before = self.found.get(candidate)
        if before is None or found.layout.part_count < before.layout.part_count:
            self.found[candidate] = found
            self.reporter.event(
                BestImproved(found.layout.size, found.verdict.delay, found.layout.part_count)
            )
