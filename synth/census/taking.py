"""Taking a census: boxes go to helpers in order, and what they tell goes into the journal."""

from __future__ import annotations

import time
from dataclasses import replace

from synth.census.helpers import Helpers
from synth.census.journal import CensusJournal
from synth.census.result import Census
from synth.census.running import Ended, Model, Task
from synth.layout import Layout
from synth.proofs.census_certificate import CensusProofs
from synth.questions.box import BoxQuestion
from synth.questions.census import CensusQuestion, shown
from synth.questions.census_ledger import Complete, Found
from synth.questions.events import (
    BoxEnded,
    BoxStarted,
    FunctionFound,
    Reporter,
    SearchEnded,
    SearchStarted,
    Silent,
)
from synth.questions.outcome import Status
from synth.search.workers.judged import Refused, tidied
from synth.search.workers.settings import Settings
from synth.spec.classes import Columns


def run_census(
    asked: CensusQuestion,
    settings: Settings,
    *,
    time_limit_s: float | None = None,
    reporter: Reporter | None = None,
    journal: CensusJournal | None = None,
    proofs: CensusProofs | None = None,
) -> Census:
    """Take a census.

    Args:
        asked: what is asked.
        settings: how to search; ``workers`` boxes at the same time.
        time_limit_s: seconds after which it stops, with what is known by then.
        reporter: told of every box and function.
        journal: what is known from before, and where more of it is kept.
        proofs: where proofs are kept; a box counts as complete only with its proof.

    Returns:
        What is known in the end.
    """
    taking = _Taking(asked, settings, reporter or Silent(), journal or CensusJournal(asked), proofs)
    return taking.run(time_limit_s)


class _Taking:
    """One census on its way."""

    def __init__(
        self,
        asked: CensusQuestion,
        settings: Settings,
        reporter: Reporter,
        journal: CensusJournal,
        proofs: CensusProofs | None,
    ) -> None:
        self.asked = asked
        self.settings = settings
        self.reporter = reporter
        self.journal = journal
        self.ledger = journal.ledger
        self.proofs = proofs
        self.began = time.monotonic()
        self.started: dict[int, tuple[float, tuple[Columns, ...]]] = {}
        self.given_up: dict[BoxQuestion, str] = {}
        if proofs is not None:
            self._only_proven(proofs)

    @property
    def seconds(self) -> float:
        """Since the beginning, a census that this one goes on from included."""
        return self.journal.seconds + time.monotonic() - self.began

    def _only_proven(self, proofs: CensusProofs) -> None:
        """Let a box be complete as far as its proof says so, and not without one."""
        for candidate, complete in list(self.ledger.complete.items()):
            forbidden = proofs.forbidden(candidate)
            if forbidden is None:
                del self.ledger.complete[candidate]
            else:
                self.ledger.complete[candidate] = replace(complete, without=forbidden)

    def run(self, time_limit_s: float | None) -> Census:
        """Until nothing is open, or the time is up."""
        until = None if time_limit_s is None else self.began + time_limit_s
        self.reporter.event(SearchStarted(len(self.ledger.open_boxes())))
        status, refused, reason = Status.UNDECIDED, None, ""
        try:
            with Helpers(self.settings.workers) as helpers:
                try:
                    reason = self._run(helpers, until)
                finally:
                    for number in helpers.busy:
                        self._ended(number, "dropped", Ended(False))
            if not self.ledger.open_boxes():
                status = Status.FOUND
        except Refused as error:
            status, refused = Status.REFUSED, error
        finally:
            # A census says "complete" where a search says "found".
            word = "complete" if status is Status.FOUND else str(status)
            self.reporter.event(SearchEnded(word, time.monotonic() - self.began))
        return Census.of(
            self.ledger,
            status=status,
            reason=reason,
            refused=None if refused is None else refused.layout,
            seconds=self.seconds,
            settings=self.settings,
        )

    def _run(self, helpers: Helpers, until: float | None) -> str:
        """Work until there is none left; why something is open, or nothing."""
        while True:
            self._begin(helpers)
            if not helpers.busy or not self.ledger.open_boxes():
                return "; ".join(dict.fromkeys(self.given_up.values()))
            told = helpers.take(until)
            if told is None:
                return "the time was up"
            number, what = told
            if isinstance(what, Model):
                self._found(self.asked.candidates[number], what)
            else:
                self._done(number, what)

    def _begin(self, helpers: Helpers) -> None:
        """Give work to helpers that have none: the first boxes that are open."""
        for candidate in self.ledger.open_boxes():
            number = self.ledger.order[candidate]
            if not helpers.free:
                return
            if number in helpers.busy or candidate in self.given_up:
                continue
            forbidden = self.ledger.forbidden_in(candidate)
            self.started[number] = (time.monotonic(), forbidden)
            self.reporter.event(BoxStarted(number, candidate.size, candidate.delay))
            question = self.asked.formula(candidate, forbidden).without(self.settings.without)
            evidence = None if self.proofs is None else str(self.proofs.folder)
            helpers.begin(
                number, Task(question, self.settings.solver, self.settings.seed, evidence)
            )

    def _found(self, candidate: BoxQuestion, model: Model) -> None:
        """Judge a layout and keep it, as one of each class that it answers.

        Raises:
            Refused: if the simulator rejects it.
        """
        members = [model.columns]
        if self.asked.sought:
            members += self.asked.sought_in(model.layout, candidate.delay)
        known = self.ledger.found.get(candidate, {})
        for member in members:
            if self.asked.class_of(member) not in known:
                self._keep(candidate, member, model.layout)

    def _keep(self, candidate: BoxQuestion, member: Columns, decoded: Layout) -> None:
        columns = self.asked.class_of(member)
        problem = self.asked.problem_of(columns)
        renamed = self.asked.named(decoded, member)
        found = tidied(renamed, problem, candidate.delay, self.settings.prefer)
        if not found.verdict.passes or found.verdict.delay is None:
            raise Refused(found.layout, found.verdict)
        delay = found.verdict.delay
        layout = found.layout.replace(made_for=problem.made_for(delay))
        self.journal.note_found(candidate, Found(columns, layout, delay, self.seconds))
        counted = self.asked.counted
        self.reporter.event(
            FunctionFound(
                shown(columns),
                candidate.size,
                candidate.delay,
                len(self.ledger.places()),
                None if counted is None else len(counted),
            )
        )

    def _done(self, number: int, ended: Ended) -> None:
        """Keep that a box is complete, or why it was given up."""
        candidate = self.asked.candidates[number]
        self._ended(number, "complete" if ended.complete else "undecided", ended)
        if not ended.complete:
            self.given_up[candidate] = f"{candidate}: {ended.reason}"
            return
        without = self.started[number][1]
        if self.proofs is not None:
            assert ended.evidence is not None
            forbidden = tuple(map(self.asked.class_of, ended.forbidden))
            self.proofs.note(candidate, forbidden, ended.evidence)
        self.journal.note_complete(candidate, Complete(without, ended.seconds), self.seconds)

    def _ended(self, number: int, answer: str, ended: Ended) -> None:
        candidate, (since, _) = self.asked.candidates[number], self.started[number]
        self.reporter.event(
            BoxEnded(
                number,
                candidate.size,
                candidate.delay,
                answer,
                ended.variables,
                ended.clauses,
                time.monotonic() - since,
            )
        )
