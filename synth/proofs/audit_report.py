"""What an audit found: problems with their files, what is certain, and what that rests on."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from synth.questions.box import BoxQuestion
from synth.questions.cubes import Cube

FORMAT = "gatefit-audit"
VERSION = 1


@dataclass(frozen=True, slots=True)
class Problem:
    """Something that is wrong with one file of a certificate."""

    file: str
    text: str

    def __str__(self) -> str:
        return f"{self.file}: {self.text}"


@dataclass(frozen=True, slots=True)
class QuestionAudit:
    """What was checked for one question.

    Attributes:
        question: the question.
        stem: the name of its files.
        variables, clauses: the size of the formula.
        steps: lines of the proof.
        proven: whether the formula is that of the question, and the checker verified its proof.
        symmetry: None if symmetry breaking was checked on the clauses, or else why it was not.
        cube: the cube of the question; None for the whole question.
        most_links: the bound on links that its formula rests on and that was proven anew, or None:
            it rests on none (``synth.encoding.link_bound``).
        encode_seconds, check_seconds, symmetry_seconds: times.
    """

    question: BoxQuestion
    stem: str
    variables: int
    clauses: int
    steps: int
    proven: bool
    symmetry: str | None
    encode_seconds: float
    check_seconds: float
    symmetry_seconds: float
    cube: Cube | None = None
    most_links: int | None = None

    def __str__(self) -> str:
        return str(self.question) if self.cube is None else f"{self.question}, {self.cube}"

    def document(self) -> dict[str, Any]:
        """Its entry in the audit document."""
        cube = {} if self.cube is None else {"cube": self.cube.document()}
        return cube | {
            "size": list(self.question.size),
            "delay": self.question.delay,
            "parts": self.question.parts,
            "evidence": self.stem,
            "variables": self.variables,
            "clauses": self.clauses,
            "steps": self.steps,
            "proven": self.proven,
            "most_links": self.most_links,
            "symmetry": "checked" if self.symmetry is None else f"not checked: {self.symmetry}",
            "encode_seconds": round(self.encode_seconds, 3),
            "check_seconds": round(self.check_seconds, 3),
            "symmetry_seconds": round(self.symmetry_seconds, 3),
        }


@dataclass(frozen=True, slots=True)
class AuditReport:
    """What an audit found.

    Attributes:
        claimed: the claim in words.
        problems: everything that is wrong; none if the claim is certain.
        certain: what is now certain, one sentence each.
        rests_on: what that certainty rests on, one sentence each.
        questions: what was checked for each question.
        checker: the program that checked the proofs.
        seconds: the time of the audit.
    """

    claimed: str
    problems: tuple[Problem, ...]
    certain: tuple[str, ...]
    rests_on: tuple[str, ...]
    questions: tuple[QuestionAudit, ...]
    checker: str
    seconds: float

    @property
    def passes(self) -> bool:
        """Whether nothing is wrong, so that everything claimed is certain."""
        return not self.problems

    def document(self) -> dict[str, Any]:
        """The audit document, version 1."""
        return {
            "format": FORMAT,
            "version": VERSION,
            "passes": self.passes,
            "claimed": self.claimed,
            "certain": list(self.certain),
            "rests_on": list(self.rests_on),
            "problems": [{"file": p.file, "text": p.text} for p in self.problems],
            "questions": [question.document() for question in self.questions],
            "checker": self.checker,
            "seconds": round(self.seconds, 3),
        }
