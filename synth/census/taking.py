"""Taking a census: boxes go to helpers in order, and what these find goes into the journal.

A box goes to one helper as a whole as long as others wait. Once fewer boxes wait than there are
helpers, the boxes that are left are split into cubes, so that helpers share them. That costs more
processor time (measured: 1.5 times for 3x2x4 at 2 ticks), but the answer comes sooner.
"""

from __future__ import annotations

import time
from collections.abc import Iterator
from contextlib import ExitStack
from dataclasses import dataclass, replace

from synth.census.helpers import Helpers, Places
from synth.census.journal import CensusJournal
from synth.census.result import Census
from synth.census.running import Ended, Model, Task
from synth.layout import Layout
from synth.proofs.census_certificate import CensusProofs
from synth.questions.box import BoxQuestion
from synth.questions.census import CensusQuestion, shown
from synth.questions.census_ledger import Complete, Found
from synth.questions.cubes import Cube
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
    places: Places | None = None,
) -> Census:
    """Take a census.

    Args:
        asked: what is asked.
        settings: how to search; ``workers`` boxes at the same time, unless there are ``places``.
        time_limit_s: seconds after which it stops, with what is known by then.
        reporter: told of every box and function.
        journal: what is known from before, and where more of it is kept.
        proofs: where proofs are kept; a box counts as complete only with its proof.
        places: where boxes are worked on, such as a cluster; None: in helpers of this process.

    Returns:
        What is known in the end.
    """
    taking = _Taking(asked, settings, reporter or Silent(), journal or CensusJournal(asked), proofs)
    with ExitStack() as stack:
        return taking.run(time_limit_s, places or stack.enter_context(Helpers(settings.workers)))


@dataclass(frozen=True)
class _Work:
    """What one helper works on: a box, or a cube of it, without the classes known when it began.

    Attributes:
        candidate, cube: the box, and its cube or None.
        without: the classes that were forbidden from the start.
        since: when it began (monotonic).
    """

    candidate: BoxQuestion
    cube: Cube | None
    without: tuple[Columns, ...]
    since: float

    @property
    def named(self) -> str:
        """The cube as events name it."""
        return "" if self.cube is None else str(self.cube)


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
        self.works: list[_Work] = []
        self.given_up: dict[tuple[BoxQuestion, Cube | None], str] = {}
        if proofs is not None:
            self._only_proven(proofs)

    @property
    def seconds(self) -> float:
        """Seconds since the beginning, including the census that this one continues."""
        return self.journal.seconds + time.monotonic() - self.began

    def _only_proven(self, proofs: CensusProofs) -> None:
        """Count a box as complete only if there is a proof of it."""
        for candidate, complete in list(self.ledger.complete.items()):
            forbidden = proofs.forbidden(candidate)
            if forbidden is None:
                del self.ledger.complete[candidate]
            else:
                self.ledger.complete[candidate] = replace(complete, without=forbidden)
        for candidate, cubes in self.ledger.cubes.items():
            for cube, complete in list(cubes.items()):
                forbidden = proofs.forbidden(candidate, cube)
                if forbidden is None:
                    del cubes[cube]
                else:
                    cubes[cube] = replace(complete, without=forbidden)

    def run(self, time_limit_s: float | None, places: Places) -> Census:
        """Works until nothing is open, or the time is up."""
        until = None if time_limit_s is None else self.began + time_limit_s
        self.reporter.event(SearchStarted(len(self.ledger.open_boxes())))
        status, refused, reason = Status.UNDECIDED, None, ""
        try:
            try:
                reason = self._run(places, until)
            finally:
                for number in places.busy:
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

    def _run(self, places: Places, until: float | None) -> str:
        """Work until nothing is left to do; returns why something is open, or an empty text."""
        while True:
            self._begin(places)
            if not places.busy or not self.ledger.open_boxes():
                return "; ".join(dict.fromkeys(self.given_up.values()))
            told = places.take(until)
            if told is None:
                return "the time was up"
            number, what = told
            if isinstance(what, Model):
                self._found(self.works[number].candidate, what)
            else:
                self._done(number, what)

    def _begin(self, places: Places) -> None:
        """Give work to helpers that have none: the first boxes that are open, or cubes of them."""
        if not places.free:
            return
        for candidate, cube in self._waiting(places):
            forbidden = self.ledger.forbidden_in(candidate)
            number = len(self.works)
            work = _Work(candidate, cube, forbidden, time.monotonic())
            self.works.append(work)
            size, delay, _ = candidate
            self.reporter.event(BoxStarted(number, size, delay, work.named))
            question = self.asked.formula(candidate, forbidden, cube).without(self.settings.without)
            evidence = None if self.proofs is None else str(self.proofs.folder)
            task = Task(question, self.settings.solver, self.settings.seed, evidence, cube)
            places.begin(number, task)
            if not places.free:
                return

    def _waiting(self, places: Places) -> Iterator[tuple[BoxQuestion, Cube | None]]:
        """The boxes and cubes that no helper has, in order."""
        works = [self.works[number] for number in places.busy]
        taken = {(work.candidate, work.cube) for work in works} | self.given_up.keys()
        still_open = [box for box in self.ledger.open_boxes() if (box, None) not in taken]
        few = len(still_open) < places.places
        in_cubes = {box for box, _ in taken}
        for candidate in still_open:
            done = self.ledger.cubes_done(candidate)
            cubes: list[Cube | None] = [None]
            if few or done or candidate in in_cubes:
                cubes = [*self.asked.cubes_of(candidate)] or [None]
            for cube in cubes:
                if cube not in done and (candidate, cube) not in taken:
                    yield candidate, cube

    def _found(self, candidate: BoxQuestion, model: Model) -> None:
        """Judge a layout and keep it for each class that it answers.

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
        """Keep that a box or cube is complete, or why it was given up."""
        work = self.works[number]
        candidate, cube = work.candidate, work.cube
        self._ended(number, "complete" if ended.complete else "undecided", ended)
        if not ended.complete:
            self.given_up[candidate, cube] = f"{candidate}: {ended.reason}"
            return
        if self.proofs is not None:
            assert ended.evidence is not None
            forbidden = tuple(map(self.asked.class_of, ended.forbidden))
            self.proofs.note(candidate, forbidden, ended.evidence, cube)
        complete = Complete(work.without, ended.seconds)
        self.journal.note_complete(candidate, complete, self.seconds, cube)

    def _ended(self, number: int, answer: str, ended: Ended) -> None:
        work = self.works[number]
        self.reporter.event(
            BoxEnded(
                number,
                work.candidate.size,
                work.candidate.delay,
                answer,
                ended.variables,
                ended.clauses,
                time.monotonic() - work.since,
                work.named,
            )
        )
