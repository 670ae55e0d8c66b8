"""The audit of one question: derives its formula again, checks its proof and its symmetry."""

from __future__ import annotations

import time
import zlib
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from synth.encoding import Encoding, Question, encode
from synth.medium import Rules
from synth.proofs.audit_bounds import TooLong, unpacked
from synth.proofs.audit_links import unproven_links
from synth.proofs.audit_report import Problem, QuestionAudit
from synth.proofs.certificate_index import INDEX
from synth.proofs.drat import Checker
from synth.proofs.evidence import FORMULA, MAP, PROOF, formula_text, map_text, stem_of
from synth.proofs.index_entries import Proven, encoder_version
from synth.proofs.symmetry_check import NotShown, check_symmetry
from synth.questions.cubes import narrowed
from synth.spec import Spec


@dataclass(frozen=True)
class Inspector:
    """Audits the questions of one certificate, any number of them at the same time.

    Attributes:
        folder: the certificate.
        spec: its specification.
        rules: its rule table.
        checker: what checks the proofs.
        symmetry: whether to check symmetry breaking.
        readable: the files that agree with the index; others were reported and are not opened.
        made_by: the encoder that the index names.
    """

    folder: Path
    spec: Spec
    rules: Rules
    checker: Checker
    symmetry: bool
    readable: frozenset[str]
    made_by: str

    def inspect(self, proven: Proven) -> tuple[QuestionAudit, list[Problem]]:
        """What was checked for one question, and what is wrong with its files."""
        began = time.perf_counter()
        problems: list[Problem] = []
        encoding = encode(self.question(proven))
        formula = formula_text(encoding)
        said = (proven.evidence.variables, proven.evidence.clauses)
        if said != (encoding.variable_count, len(encoding.clauses)):
            problems.append(Problem(INDEX, f"the size of the formula of {proven.stem} is wrong"))
        if proven.stem != stem_of(encoding.question, proven.cube):
            text = f"{proven.stem} is not the name of the files of {proven.question}"
            problems.append(Problem(INDEX, text))
        same = self._compare(proven.stem + FORMULA, formula, problems)
        self._compare(proven.stem + MAP, map_text(encoding), problems)
        encoded = time.perf_counter()
        steps, verified = self._proof(proven.stem + PROOF, formula, problems)
        unproven = unproven_links(encoding, self.checker)
        if unproven is not None:
            text = f"it bounds the links of wires, which is not shown: {unproven}"
            problems.append(Problem(proven.stem + FORMULA, text))
        checked = time.perf_counter()
        audited = QuestionAudit(
            question=proven.question,
            stem=proven.stem,
            variables=encoding.variable_count,
            clauses=len(encoding.clauses),
            steps=steps,
            proven=same and verified and unproven is None,
            symmetry=self._symmetric(encoding),
            encode_seconds=encoded - began,
            check_seconds=checked - encoded,
            symmetry_seconds=time.perf_counter() - checked,
            cube=proven.cube,
            most_links=encoding.rails.longest_way,
        )
        return audited, problems

    def question(self, proven: Proven) -> Question:
        """The question of an entry, with the options with which its formula was written."""
        size, delay, parts = proven.question
        options: dict[str, Any] = dict(proven.evidence.options)
        spec = narrowed(self.spec, proven.cube)
        question = Question(spec, size, delay, parts=parts, rules=self.rules)
        return replace(question, **options)

    def _compare(self, name: str, derived: bytes, problems: list[Problem]) -> bool:
        """Whether a file equals what is derived anew, byte by byte."""
        held = self._unpacked(name, problems, len(derived))
        if held is None:
            return False
        if held != derived:
            other = ""
            if self.made_by != encoder_version():
                other = f" (it was made by another encoder: {self.made_by})"
            problems.append(Problem(name, f"it is not what the specification gives{other}"))
        return held == derived

    def _proof(self, name: str, formula: bytes, problems: list[Problem]) -> tuple[int, bool]:
        """The steps of a proof, and whether it proves that the derived formula has no model."""
        proof = self._unpacked(name, problems)
        if proof is None:
            return 0, False
        checked = self.checker.check(formula, proof)
        if not checked.verified:
            problems.append(Problem(name, f"the proof does not hold: {checked.reason}"))
        return checked.steps, checked.verified

    def _unpacked(
        self, name: str, problems: list[Problem], most_bytes: int | None = None
    ) -> bytes | None:
        """The content of a compressed file; None if something is wrong with it."""
        if name not in self.readable:
            return None
        try:
            return unpacked(self.folder / name, most_bytes)
        except TooLong as reason:
            problems.append(Problem(name, str(reason)))
            return None
        except (OSError, EOFError, zlib.error) as error:
            problems.append(Problem(name, f"it cannot be unpacked: {error}"))
            return None

    def _symmetric(self, encoding: Encoding) -> str | None:
        if not self.symmetry:
            return "it was not asked for"
        try:
            check_symmetry(encoding)
        except NotShown as reason:
            return str(reason)
        return None
