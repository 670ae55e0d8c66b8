"""``solve --store``: what a store knows is not searched again, what is found out is kept there."""

from __future__ import annotations

import contextlib
from collections.abc import Iterable, Iterator
from contextlib import ExitStack, contextmanager
from dataclasses import dataclass
from typing import TYPE_CHECKING

from synth.cli.shared.kept import Answer
from synth.errors import InputError, OutputError

if TYPE_CHECKING:
    # `gatefit --help` must not wait for solvers and graphs: commands load those when they run.
    from synth.layout import Layout
    from synth.library import Store
    from synth.questions.box import BoxAnswer
    from synth.questions.journal import Journal
    from synth.questions.outcome import Outcome
    from synth.questions.problem import Problem
    from synth.spec import Limits

_CANNOT_KEEP = (InputError, OutputError, OSError)


@dataclass(frozen=True)
class Remembered:
    """What is known of one problem, and where more of it is kept.

    Attributes:
        problem: what is asked, with the limits in force.
        own: the limits that the user gave.
        store: open, or None: nothing is known, and nothing is kept.
        certificate: the folder of the certificate that is wanted, or None.
    """

    problem: Problem
    own: Limits
    store: Store | None = None
    certificate: str | None = None

    @staticmethod
    def opened(
        stack: ExitStack,
        problem: Problem,
        own: Limits,
        store: str | None,
        certificate: str | None,
    ) -> Remembered:
        """With the store in a file, which is closed with ``stack``.

        Raises:
            InputError: if the file is no store or cannot be used.
        """
        if store is None:
            return Remembered(problem, own)
        from synth.library import Store

        return Remembered(problem, own, stack.enter_context(Store(store)), certificate)

    def answer(self) -> Outcome | None:
        """The decided answer to just this question, unless proofs of it are wanted.

        Raises:
            InputError: if its layout does not do what is asked.
        """
        if self.store is None or self.certificate is not None:
            return None
        return self.store.recall(self.problem)

    def begin(self, journal: Journal) -> tuple[Layout, ...]:
        """Let a search start from what is known of boxes, and from the best layouts.

        Layouts found for other questions count as well, if they do what is asked in this one.
        Where proofs are wanted, a box that was ruled out counts for nothing without one.

        Returns:
            Layouts to shrink, the best first; they may need more room than is asked.

        Raises:
            InputError: if an entry of the store cannot be read, or does not do what it should.
        """
        if self.store is None:
            return ()
        from synth.library.starting import starts

        if self.certificate is None:
            journal.entries += self.store.recall_boxes(self.problem)
        best = self.store.known(self.problem)
        known = () if best is None or best.layout is None else (best.layout,)
        found = tuple(dict.fromkeys((*known, *starts(self.store, self.problem, self.own))))
        journal.entries += self._answers(found)
        return found

    def _answers(self, layouts: Iterable[Layout]) -> Iterator[BoxAnswer]:
        """The answers in layouts: those of them that keep every limit in force."""
        from synth.questions.box import BoxAnswer, BoxQuestion
        from synth.questions.measures import keeps
        from synth.simulator import check

        spec, most = self.problem.spec, self.problem.limits.delay
        for layout in layouts:
            verdict = check(layout, spec, delay=most, rules=self.problem.rules)
            if verdict.passes and keeps(layout, verdict.delay, self.problem.limits):
                assert verdict.delay is not None
                yield BoxAnswer(BoxQuestion(layout.size, verdict.delay), layout)

    @contextmanager
    def on_the_way(self, journal: Journal) -> Iterator[None]:
        """When a search is stopped or fails, keep what was found out until then."""
        before = len(journal.entries)
        try:
            yield
        except BaseException:
            # What ended the search is what the user has to hear of.
            with contextlib.suppress(*_CANNOT_KEEP):
                self._keep_parts(journal, before)
            raise

    def _keep_parts(self, journal: Journal, before: int) -> None:
        if self.store is None:
            return
        from synth.questions.outcome import Outcome, Status
        from synth.questions.statistics import Statistics
        from synth.simulator import check

        new = journal.entries[before:]
        self.store.keep_boxes(self.problem, new)
        made = Statistics(solver=journal.heading["solver"], seed=journal.heading["seed"])
        for entry in new:
            if entry.layout is None:
                continue
            most = self.problem.limits.delay
            verdict = check(entry.layout, self.problem.spec, delay=most, rules=self.problem.rules)
            if verdict.passes:
                reason = "found on the way; the search was stopped before its end"
                found = Outcome(Status.UNDECIDED, entry.layout, verdict, reason, stats=made)
                self.store.keep(self.problem, found)

    def keep(self, outcome: Outcome, answer: Answer) -> None:
        """Keep what a search came to; remarks on it, for an answer is shown whatever happens."""
        if self.store is None:
            return
        try:
            self.store.keep(self.problem, outcome, proof=self._proof(outcome))
        except _CANNOT_KEEP as error:
            answer.failed = True
            answer.remarks.append(f"not kept in the store: {error}")
            return
        answer.remarks.append(f"kept in the store {self.store.path}")

    def _proof(self, outcome: Outcome) -> str | None:
        from synth.library.proofs import Reference
        from synth.questions.outcome import Status

        decided = outcome.status in (Status.FOUND, Status.IMPOSSIBLE)
        if self.store is None or self.certificate is None or not decided:
            return None
        return str(Reference.to(self.certificate, self.store.path))
