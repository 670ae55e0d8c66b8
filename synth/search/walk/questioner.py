"""Asks questions of workers and takes their answers; every start has its end."""

from __future__ import annotations

import time
from collections.abc import Sequence
from concurrent.futures import Future
from dataclasses import dataclass

from synth.layout import Layout
from synth.proofs.index_entries import Proven
from synth.questions.box import BoxAnswer, BoxQuestion
from synth.questions.cubes import Cube
from synth.questions.events import BestImproved, BoxEnded, BoxStarted, Reporter, Silent
from synth.search.walk.above import Above, NothingAbove
from synth.search.walk.ledger import Ledger
from synth.search.walk.resting import Resting
from synth.search.workers.crew import Crew
from synth.search.workers.judged import Found, Refused, tidied
from synth.search.workers.settings import Settings
from synth.search.workers.task import Reply, Task, expected_clauses

LEAST_SPLIT = 40_000
"""With fewer clauses than about this, a question is answered before its cubes are written."""


@dataclass(frozen=True, slots=True)
class Pending:
    """A running question, whole or a cube of it; ``limited`` says that it may be given up."""

    asked: BoxQuestion
    cube: Cube | None
    started: BoxStarted
    future: Future[Reply]
    limited: bool = False


class Questioner:
    """Asks questions about one problem, and writes the answers into its ledger.

    Args:
        ledger: what is known.
        settings: how to search.
        crew: the workers.
        reporter: gets the events of every question and answer.
        above: finds layouts beside the walk.
    """

    def __init__(
        self,
        ledger: Ledger,
        settings: Settings,
        crew: Crew,
        reporter: Reporter | None = None,
        above: Above | None = None,
    ) -> None:
        self.ledger = ledger
        self.settings = settings
        self.crew = crew
        self.reporter = reporter or Silent()
        self.above: Above = above or NothingAbove()
        self.questions = 0
        self.largest = Reply("undecided")
        self.solve_seconds = 0.0
        self._told: Found | None = None
        self._resting = Resting(time.monotonic())
        self._paused: dict[tuple[BoxQuestion, Cube | None], Future[Reply]] = {}

    def pieces(self, asked: BoxQuestion, idle: bool) -> Sequence[Cube | None]:
        """The pieces of a question to ask: its open cubes, or the whole question (None).

        A question that was paused as a whole goes on so, unless workers would be idle.

        Args:
            asked: the question.
            idle: whether workers would have nothing to do if the question were asked whole.
        """
        if (asked, None) in self._paused and not idle:
            return [None]
        self._forget(asked, None)
        closed = self.ledger.closed(asked)
        large = self.expected_clauses(asked) >= LEAST_SPLIT
        if closed or self.ledger.is_hard(asked) or (idle and large):
            return [cube for cube in self.ledger.cubes(asked) if cube not in closed] or [None]
        return [None]

    def expected_clauses(self, asked: BoxQuestion) -> int:
        """A rough count of the clauses of a question."""
        return expected_clauses(self.ledger.problem.formula(asked, self.settings.without))

    def put(
        self,
        asked: BoxQuestion,
        cube: Cube | None = None,
        *,
        conflicts: int | None = None,
        solver: str | None = None,
    ) -> Pending:
        """Give a question, or a cube of it, to the crew, and report it.

        Args:
            asked: the question.
            cube: the cube; None for the whole question.
            conflicts: the solver gives up after this many; no proof is then kept, because no claim
                rests on such a question. None goes on until it is decided.
            solver: a solver other than that of the search.
        """
        self.questions += 1
        told = ""
        if cube is not None:
            cubes = self.ledger.cubes(asked)
            told = f"cube {cubes.index(cube) + 1} of {len(cubes)}, {cube}"
        most = asked.parts if asked.parts != self.ledger.problem.limits.parts else None
        started = BoxStarted(self.questions, asked.size, asked.delay, told, most)
        self.reporter.event(started)
        if conflicts is None and solver is None:
            paused = self._going_on(asked, cube)
            if paused is not None:
                return Pending(asked, cube, started, paused)
        settings = self.settings
        question = self.ledger.problem.formula(asked, settings.without)
        task = Task(
            question,
            solver or settings.solver,
            settings.seed,
            settings.evidence if conflicts is None else None,
            conflicts=conflicts,
            cube=cube,
        )
        return Pending(asked, cube, started, self.crew.submit(task), conflicts is not None)

    def _going_on(self, asked: BoxQuestion, cube: Cube | None) -> Future[Reply] | None:
        """A paused question that goes on now; None if it is not paused."""
        future = self._paused.pop((asked, cube), None)
        if future is not None:
            self.crew.go_on(future)
        return future

    def take(self, pending: Pending) -> Found | None:
        """Note an answer; returns the layout, if it is one.

        Raises:
            Refused: if the simulator rejects the layout.
        """
        asked, cube = pending.asked, pending.cube
        try:
            reply = pending.future.result()
        except BaseException:
            self._end(pending, "undecided")
            raise
        if (reply.variables, reply.clauses) > (self.largest.variables, self.largest.clauses):
            self.largest = reply
        self.solve_seconds += reply.solve_seconds
        if reply.layout is None:
            if reply.answer == "impossible":
                if reply.evidence is not None:
                    self.ledger.prove(Proven(asked, reply.evidence, cube))
                self.ledger.rule_out(asked, cube)
                self.ledger.write_down(BoxAnswer(asked, None, cube))
            else:
                if not pending.limited:
                    self.ledger.leave_open(asked, reply.reason)
            self._end(pending, reply.answer, reply)
            return None
        try:
            found = self._judged(asked, reply.layout)
        except BaseException:
            self._end(pending, "refused", reply)
            raise
        self._end(pending, "found", reply)
        self.ledger.write_down(BoxAnswer(asked, found.layout, cube))
        if self._told is None or self.ledger.score(found) < self.ledger.score(self._told):
            self._tell(found)
        return found

    def _judged(self, asked: BoxQuestion, layout: Layout) -> Found:
        found = tidied(layout, self.ledger.problem, asked.delay, self.settings.prefer)
        if not found.verdict.passes:
            raise Refused(layout, found.verdict)
        return found

    def abandon(self, pending: Pending) -> None:
        """Stop a question whose answer is no longer needed."""
        self.crew.stop(pending.future)
        self._end(pending, "dropped")

    def give_up(self, pending: Pending, seconds: float) -> None:
        """Stop a question that has used up its share of the time; the box stays open.

        If it can be paused, it goes on from there when it is asked again.
        """
        if self.crew.pause(pending.future):
            self._paused[pending.asked, pending.cube] = pending.future
        else:
            self.crew.stop(pending.future)
        self.ledger.slow_down(pending.asked, f"not decided in {seconds:.3g} seconds")
        self._end(pending, "undecided")

    def end_paused(self) -> None:
        """End every paused question: it is not asked again."""
        for asked, cube in list(self._paused):
            self._forget(asked, cube)

    def _forget(self, asked: BoxQuestion, cube: Cube | None) -> None:
        future = self._paused.pop((asked, cube), None)
        if future is not None:
            self.crew.stop(future)

    def keep(self, asked: BoxQuestion, found: Found) -> None:
        """Keep a layout if it is the best for its box and delay; report it if it is that of all."""
        if not self.ledger.keep(asked, found):
            return
        told = self._told
        if told is None or (
            found.layout != told.layout and self.ledger.score(found) <= self.ledger.score(told)
        ):
            self._tell(found)
        self.above.offer(found.layout)

    def _tell(self, found: Found) -> None:
        self._told = found
        layout = found.layout
        self.reporter.event(BestImproved(layout.size, found.verdict.delay, layout.part_count))

    def offer(self, asked: BoxQuestion, found: Found) -> None:
        """Take a layout that was found otherwise than by asking about its box."""
        self.keep(asked, found)
        self.ledger.write_down(BoxAnswer(asked, found.layout))

    @property
    def workers(self) -> int:
        """How many questions may run at the same time."""
        return max(1, self.settings.workers - self.above.at_work)

    def share_out(self) -> None:
        """Let what comes from above rest or go on (``Resting``), if a layout is known, and the walk
        has workers besides.
        """
        due = self.settings.workers > 1 and bool(self.ledger.found)
        self.above.rest(due and self._resting.is_due(time.monotonic()))

    def take_gains(self) -> bool:
        """Take what has come from above; returns whether anything has."""
        gains = self.above.gains()
        if gains:
            self._resting.gained(time.monotonic())
        for found in gains:
            assert found.verdict.delay is not None
            self.offer(BoxQuestion(found.layout.size, found.verdict.delay), found)
        return bool(gains)

    def _end(self, pending: Pending, answer: str, reply: Reply | None = None) -> None:
        """Report how a question ended."""
        reply = reply or Reply(answer)
        started = pending.started
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
                started.parts,
            )
        )
