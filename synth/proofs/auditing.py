"""What every audit has, whatever the certificate is of: who checks, what was found, the report."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from pathlib import Path

from synth.encoding import Question
from synth.proofs.audit_bounds import Bounds, Unneeded
from synth.proofs.audit_cubes import NotCovered, check_cover, images_unchecked
from synth.proofs.audit_report import AuditReport, Problem, QuestionAudit
from synth.proofs.certificate_index import INDEX
from synth.proofs.drat import Checker
from synth.proofs.index_entries import Split
from synth.words import counted


class Auditing:
    """One audit; see ``synth.proofs.audit.audit`` for its arguments.

    A kind of certificate reads its index, runs its steps, and says what is then certain.

    Attributes:
        claimed: the claim in words, once the index is read.
        problems: what is wrong so far.
        questions: what was checked of each question so far.
        images_unchecked: why it was not checked on the clauses that images answer a question, for
            each question whose cubes need that.
    """

    def __init__(
        self,
        folder: Path,
        checker: Checker,
        symmetry: bool,
        progress: Callable[[str], None],
        workers: int,
    ) -> None:
        self.folder = folder
        self.checker = checker
        self.symmetry = symmetry
        self.progress = progress
        self.workers = workers
        self.claimed = ""
        self.problems: list[Problem] = []
        self.questions: list[QuestionAudit] = []
        self.images_unchecked: list[str] = []

    def run(self) -> None:
        """Every step in turn."""
        raise NotImplementedError

    def _certain(self) -> Sequence[str]:
        """What is certain if nothing is wrong, a sentence each."""
        raise NotImplementedError

    def _rests_on(self) -> Sequence[str]:
        """What that certainty rests on, a sentence each."""
        raise NotImplementedError

    def _has_read(self, text: str, *, unchanged: bool) -> None:
        """Note the claim of the index, and blame an index that is not as it was written."""
        self.claimed = text
        if not unchanged:
            self._blame(INDEX, "it is not as it was written (its own hash or layout is wrong)")

    def _blame(self, file: str, text: str) -> None:
        self.problems.append(Problem(file, text))

    def _blamed(self, *names: str) -> bool:
        return any(problem.file in names for problem in self.problems)

    def _is_covered(self, split: Split, question: Question, bounds: Bounds) -> bool:
        """Whether the cubes of a question that was answered by cubes cover it."""
        self.progress(f"the cubes of {split.question}")
        audited = {audit.stem: audit for audit in self.questions}
        try:
            bounds.require_question(split.stem, split.question, question)
            images_needed = check_cover(split, question, audited)
        except (NotCovered, Unneeded) as gap:
            self._blame(INDEX, str(gap))
            return False
        if images_needed:
            reason = images_unchecked(question) if self.symmetry else "it was not asked for"
            self.images_unchecked += [] if reason is None else [reason]
        return True

    def _splitting_rests_on(self, splits: int) -> list[str]:
        """What cubes and symmetry breaking rest on; nothing if no question was asked."""
        said = []
        if splits:
            said.append(
                f"Answered in cubes: {counted(splits, 'box')}, each split on the place of one "
                "pin. That the cubes leave out no place, or leave an image of it, was worked out "
                "anew."
            )
        symmetries = [audited.symmetry for audited in self.questions] + self.images_unchecked
        unchecked = [reason for reason in symmetries if reason is not None]
        if unchecked:
            said.append(
                "That symmetry breaking leaves one layout of each set: an argument "
                f"(synth/encoding/symmetry.py), in {counted(len(unchecked), 'question')} not "
                f"checked on the clauses ({unchecked[0]})."
            )
        elif self.questions:
            said.append(
                "Symmetry breaking was checked on the clauses: each formula without it maps to "
                "itself under every symmetry used, and one place of each set of pins stays."
            )
        return said

    def report(self, seconds: float) -> AuditReport:
        """What was found."""
        passes = not self.problems
        return AuditReport(
            claimed=self.claimed,
            problems=tuple(self.problems),
            certain=tuple(self._certain()) if passes else (),
            rests_on=tuple(self._rests_on()) if passes else (),
            questions=tuple(self.questions),
            checker=self.checker.name,
            seconds=seconds,
        )
