"""What every audit has, whatever the certificate is of: who checks, what was found, the report."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from pathlib import Path

from synth.proofs.audit_report import AuditReport, Problem, QuestionAudit
from synth.proofs.certificate_index import INDEX
from synth.proofs.drat import Checker


class Auditing:
    """One audit; see ``synth.proofs.audit.audit`` for its arguments.

    A kind of certificate reads its index, runs its steps, and says what is then certain.

    Attributes:
        claimed: the claim in words, once the index is read.
        problems: what is wrong so far.
        questions: what was checked of each question so far.
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
