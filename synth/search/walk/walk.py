"""The walk over boxes and delays: which question to put next, and what the answers say.

``Walk`` puts questions to a crew of workers, keeps every answer, and draws what follows from
one answer for others:

- a layout that meets T meets every later tick (section 5: what is known stays known);
- no layout at T in a box: none at any earlier tick in that box, none with fewer parts.

A question may be put as its cubes (``synth.questions.cubes``): if none of them has a layout, nor
has the question.

Nothing is concluded from one box about another: with pins on the sides, a larger box does not
always hold what a smaller one does.
"""

from __future__ import annotations

import time
from collections.abc import Sequence
from concurrent.futures import Future

from synth.encoding import Question
from synth.layout import Layout
from synth.medium import Size
from synth.proofs.certificate_index import Proven
from synth.proofs.kept_proofs import KeptProofs
from synth.questions.cover import Need
from synth.questions.cubes import Cube, split
from synth.questions.events import BestImproved, BoxEnded, BoxStarted, Reporter, Silent
from synth.questions.journal import Entry, Journal
from synth.questions.measures import Candidate, keeps
from synth.search.walk.rounds import Round
from synth.search.workers.crew import Crew
from synth.search.workers.judged import Found, Refused, tidied
from synth.search.workers.settings import Settings
from synth.search.workers.task import Reply, Task, expected_clauses
from synth.simulator import check
from synth.spec import Limits, Spec

FIRST_SHARE = 16
"""A question's share of the time in the first round: one part in so many."""

LEAST_SHARE_S = 2.0
"""No question gets less, in seconds."""

MORE_TIME = 4
"""How many times longer a question may take in the next round."""

LEAST_SPLIT = 40_000
"""Clauses, roughly, below which a question is answered before its cubes are written."""


class Walk:
    """Puts questions about one specification and remembers the answers.

    Args:
        spec: the specification.
        limits: the limits, none of length, width, height and delay left open.
        settings: how to search.
        crew: the workers.
        deadline: when to stop, as ``time.monotonic`` tells it, or None.
        reporter: told of every question and answer.
        journal: answers to start from, and where new ones are kept.
        kept: proofs to start from, and where new ones are listed; with it, "no layout" in the
            journal counts only where there is a proof of it.
    """

    def __init__(
        self,
        spec: Spec,
        limits: Limits,
        settings: Settings,
        crew: Crew,
        deadline: float | None = None,
        reporter: Reporter | None = None,
        journal: Journal | None = None,
        kept: KeptProofs | None = None,
    ) -> None:
        self.spec = spec
        self.limits = limits
        self.settings = settings
        self.crew = crew
        self.deadline = deadline
        self.reporter = reporter or Silent()
        self.journal = journal
        self.kept = kept
        self.found: dict[Candidate, Found] = {}
        self.impossible: set[tuple[Candidate, int | None]] = set()
        self._ruled_out: dict[Size, list[tuple[Candidate, int | None]]] = {}
        self.used: set[tuple[Candidate, int | None]] = set()
        self.open: dict[Candidate, str] = {}
        self.slow: set[Candidate] = set()
        self.hard: set[Candidate] = set()
        self.closed: dict[tuple[Candidate, int | None], set[Cube]] = {}
        self.splits: dict[Need, tuple[Cube, ...]] = {}
        self.proven: dict[tuple[Need, Cube | None], Proven] = {}
        self._cubes: dict[tuple[Candidate, int | None], list[Cube]] = {}
        self.questions = 0
        self.largest_formula = (0, 0)
        self.solve_seconds = 0.0
        self._recall()

    def _recall(self) -> None:
        """Start from the answers in the journal; the simulator judges each layout anew.

        It may be of a search under wider limits, whose layouts are none of this one's.
        """
        for proven in self.kept.found if self.kept else ():
            size, delay, parts = proven.question
            self.proven[proven.question, proven.cube] = proven
            self._rule_out(Candidate(size, delay), parts, proven.cube)
        for entry in self.journal.entries if self.journal else ():
            if entry.layout is None:
                if self.settings.evidence is not None:
                    continue
                self._rule_out(entry.candidate, entry.parts, entry.cube)
                continue
            delay, rules = entry.candidate.delay, self.settings.rules
            verdict = check(entry.layout, self.spec, delay=delay, rules=rules)
            if verdict.passes and keeps(entry.layout, verdict.delay, self.limits):
                self.found[entry.candidate] = Found(entry.layout, verdict)

    def _note(
        self,
        candidate: Candidate,
        parts: int | None,
        layout: Layout | None,
        cube: Cube | None = None,
    ) -> None:
        if self.journal is not None:
            self.journal.note(Entry(candidate, parts, layout, cube))

    def known(self, candidate: Candidate, parts: int | None) -> bool | None:
        """Whether a layout is known to exist (True), not to exist (False), or neither."""
        for (size, delay), found in self.found.items():
            meets = found.verdict.delay is not None and found.verdict.delay <= candidate.delay
            few = parts is None or found.layout.part_count <= parts
            if size == candidate.size and (meets or delay <= candidate.delay) and few:
                return True
        return None if self.ruled_out_by(candidate, parts) is None else False

    def ruled_out_by(
        self, candidate: Candidate, parts: int | None
    ) -> tuple[Candidate, int | None] | None:
        """The "no layout" that covers a candidate, or None."""
        for answer in self._ruled_out.get(candidate.size, ()):
            (_, delay), most = answer
            covered = most is None or (parts is not None and parts <= most)
            if delay >= candidate.delay and covered:
                return answer
        return None

    def _rule_out(self, candidate: Candidate, parts: int | None, cube: Cube | None = None) -> None:
        """Note that a candidate, or a cube of it, has no layout with at most so many parts."""
        if cube is not None:
            closed = self.closed.setdefault((candidate, parts), set())
            closed.add(cube)
            cubes = self.cubes(candidate, parts)
            if not closed.issuperset(cubes):
                return
            self.splits[Need(*candidate, parts)] = tuple(cubes)
        self.impossible.add((candidate, parts))
        self._ruled_out.setdefault(candidate.size, []).append((candidate, parts))

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

    def offer(self, candidate: Candidate, found: Found) -> None:
        """Take a layout that was found in another way than by asking about its box."""
        self.keep(candidate, found)
        self._note(candidate, self.spec.limits.parts, found.layout)

    def first(self, candidates: Sequence[Candidate], parts: int | None = None) -> Candidate | None:
        """The first candidate, in the order given, that has a layout; None if none has.

        Several are asked about at once; the answer is the same as if they were asked in turn.

        Under a deadline no box may use up all the time: in a first round each question gets a
        share of it, and what stays open is returned to with more, in cubes, until nothing before
        the layout found is open or the time is over. So a search that is stopped has a layout, if
        one was easy to find, and the bound that was proven.

        Raises:
            OutOfTime: when the deadline comes first.
            Refused: when the simulator rejects what the solver found.
        """
        limit = self._tighter(parts)
        share_s = None
        if self.deadline is not None:
            share_s = max(LEAST_SHARE_S, self._left_s() / FIRST_SHARE)
        while True:
            chosen = Round(self, candidates, limit, share_s).run()
            before = candidates if chosen is None else candidates[: candidates.index(chosen)]
            slow = [candidate for candidate in before if candidate in self.slow]
            if share_s is None or not slow:
                return chosen
            self.hard.update(slow)
            for candidate in slow:
                self.slow.discard(candidate)
                del self.open[candidate]
            share_s *= MORE_TIME
            if share_s > self._left_s():
                share_s = None

    def _left_s(self) -> float:
        assert self.deadline is not None
        return max(0.0, self.deadline - time.monotonic())

    def _tighter(self, parts: int | None) -> int | None:
        bounds = [most for most in (parts, self.spec.limits.parts) if most is not None]
        return min(bounds) if bounds else None

    # For rounds: asking, and noting what comes of it; every start has its end

    def question(self, candidate: Candidate, parts: int | None) -> Question:
        """The question whether a candidate has a layout with at most so many parts."""
        rules = self.settings.rules
        size, delay = candidate.size, candidate.delay
        whole = Question(self.spec, size, delay, parts=parts, rules=rules, sensitive=True)
        return whole.without(self.settings.without)

    def cubes(self, candidate: Candidate, parts: int | None) -> list[Cube]:
        """The cubes of that question."""
        key = (candidate, parts)
        if key not in self._cubes:
            self._cubes[key] = split(self.question(candidate, parts))
        return self._cubes[key]

    def pieces(self, candidate: Candidate, parts: int | None, idle: bool) -> Sequence[Cube | None]:
        """What to ask about a candidate: the cubes still open, or the question whole (None).

        Args:
            candidate: the box and the delay.
            parts: most parts, or None.
            idle: whether workers would have nothing to do if the question were put whole.
        """
        closed = self.closed.get((candidate, parts), set())
        large = expected_clauses(self.question(candidate, parts)) >= LEAST_SPLIT
        if closed or candidate in self.hard or (idle and large):
            return [c for c in self.cubes(candidate, parts) if c not in closed] or [None]
        return [None]

    def submit(
        self, candidate: Candidate, parts: int | None, cube: Cube | None = None
    ) -> Future[Reply]:
        """Put a question, or a cube of it, to the crew."""
        settings = self.settings
        question = self.question(candidate, parts)
        return self.crew.submit(
            Task(question, settings.solver, settings.seed, settings.evidence, cube=cube)
        )

    def start(
        self, candidate: Candidate, parts: int | None, cube: Cube | None = None
    ) -> BoxStarted:
        """Tell that a question is put."""
        self.questions += 1
        told = ""
        if cube is not None:
            cubes = self.cubes(candidate, parts)
            told = f"cube {cubes.index(cube) + 1} of {len(cubes)}, {cube}"
        started = BoxStarted(self.questions, candidate.size, candidate.delay, told)
        self.reporter.event(started)
        return started

    def end(self, started: BoxStarted, answer: str, reply: Reply | None = None) -> None:
        """Tell how a question ended."""
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
                started.cube,
            )
        )

    def abandon(self, future: Future[Reply], started: BoxStarted) -> None:
        """Stop a question whose answer is not needed any more."""
        self.crew.stop(future)
        self.end(started, "dropped")

    def take(
        self,
        candidate: Candidate,
        parts: int | None,
        started: BoxStarted,
        future: Future[Reply],
        cube: Cube | None = None,
    ) -> Found | None:
        """Note an answer; give the layout if it is one."""
        try:
            reply = future.result()
        except BaseException:
            self.end(started, "undecided")
            raise
        self.largest_formula = max(self.largest_formula, (reply.variables, reply.clauses))
        self.solve_seconds += reply.solve_seconds
        if reply.layout is None:
            if reply.answer == "impossible":
                if reply.evidence is not None:
                    need = Need(*candidate, parts)
                    proven = Proven(need, reply.evidence, cube)
                    self.proven[need, cube] = proven
                    if self.kept is not None:
                        self.kept.note(proven)
                self._rule_out(candidate, parts, cube)
                self._note(candidate, parts, None, cube)
            else:
                self.open[candidate] = reply.reason
            self.end(started, reply.answer, reply)
            return None
        try:
            found = self._judge(candidate, reply.layout)
        except BaseException:
            self.end(started, "refused", reply)
            raise
        self.end(started, "found", reply)
        self._note(candidate, parts, found.layout, cube)
        return found

    def _judge(self, candidate: Candidate, layout: Layout) -> Found:
        found = tidied(layout, self.spec, candidate.delay, self.settings)
        if not found.verdict.passes:
            raise Refused(layout, found.verdict)
        return found

    def give_up(
        self, candidate: Candidate, future: Future[Reply], started: BoxStarted, seconds: float
    ) -> None:
        """Stop a question that has used up its share of the time; the box stays open."""
        self.crew.stop(future)
        self.open[candidate] = f"not decided in {seconds:.3g} seconds"
        self.slow.add(candidate)
        self.end(started, "undecided")

    def keep(self, candidate: Candidate, found: Found) -> None:
        """Keep a layout if it is the best for its candidate."""
        before = self.found.get(candidate)
        if before is None or found.layout.part_count < before.layout.part_count:
            self.found[candidate] = found
            self.reporter.event(
                BestImproved(found.layout.size, found.verdict.delay, found.layout.part_count)
            )
