"""The audit: checks a certificate without trusting the solver or whoever ran it.

Every formula is derived again from the specification and compared byte by byte. Every proof goes
through a checker that is not the solver. What the claim needs is worked out from its meaning, and
the simulator plays the layout.
"""

from __future__ import annotations

import time
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from functools import partial
from pathlib import Path

from synth.errors import InputError
from synth.files import read_text
from synth.layout import Layout
from synth.layout.documents import parse_json
from synth.machine import default_workers
from synth.proofs.audit_bounds import Bounds, Unneeded
from synth.proofs.audit_census import CensusAudit
from synth.proofs.audit_circuit import CircuitAudit
from synth.proofs.audit_cubes import question_of
from synth.proofs.audit_delay import certain_delay, delay_rests_on, wrong_delay, wrong_need
from synth.proofs.audit_files import file_problems
from synth.proofs.audit_links import links_rest_on
from synth.proofs.audit_question import Inspector
from synth.proofs.audit_report import AuditReport
from synth.proofs.auditing import Auditing
from synth.proofs.census_index import FORMAT as CENSUS_FORMAT
from synth.proofs.certificate_index import (
    INDEX,
    LAYOUT,
    LEAST_DELAY,
    SPEC,
    VERDICT,
    format_of,
    read_index,
)
from synth.proofs.circuit_index import FORMAT as CIRCUIT_FORMAT
from synth.proofs.drat import Checker, checker_for
from synth.proofs.evidence import SUFFIXES
from synth.proofs.index_entries import Proven, encoder_version
from synth.questions.box import BoxQuestion
from synth.questions.cover import Claim, covers, needs
from synth.questions.in_force import limits_text
from synth.questions.measures import LIMITED, measured
from synth.questions.outcome import Status
from synth.simulator import check
from synth.spec import Spec
from synth.words import counted

Progress = Callable[[str], None]


def audit(
    path: str | Path,
    *,
    checker: str | None = None,
    symmetry: bool = True,
    progress: Progress | None = None,
    workers: int | None = None,
) -> AuditReport:
    """Check a certificate.

    Args:
        path: the folder that ``solve(..., certificate=path)``, a census or ``build`` wrote.
        checker: a program that is called as drat-trim is; None: the package ``dratify``.
        symmetry: whether to check symmetry breaking on the clauses, too.
        progress: told, in one line, of each step.
        workers: questions checked at the same time; None: as many as there are processors, up
            to 4. Each holds its proof in memory, some 40 bytes a literal.

    Returns:
        The report. Faults of the certificate are reported and never raised.

    Raises:
        InputError: if there is no index, it cannot be understood, or the checker cannot be had.
    """
    began = time.perf_counter()
    if workers is None:
        workers = default_workers()
    if workers < 1:
        raise InputError(f"{workers} workers", way_out="use 1 or more")
    work = _auditing(Path(path))(
        Path(path), checker_for(checker), symmetry, progress or _silent, workers
    )
    work.run()
    return work.report(time.perf_counter() - began)


_AUDITS: dict[str, type[Auditing]] = {
    CENSUS_FORMAT: CensusAudit,
    CIRCUIT_FORMAT: CircuitAudit,
}


def _auditing(folder: Path) -> type[Auditing]:
    """What audits a certificate: that depends on what it is of."""
    return _AUDITS.get(str(format_of(folder)), _Audit)


def _silent(line: str) -> None:
    """Tell nobody."""


class _Audit(Auditing):
    """One audit: its findings grow from step to step."""

    def __init__(
        self,
        folder: Path,
        checker: Checker,
        symmetry: bool,
        progress: Callable[[str], None],
        workers: int,
    ) -> None:
        super().__init__(folder, checker, symmetry, progress, workers)
        self.index, unchanged = read_index(folder)
        self.claim: Claim | None = None
        self.bounds: Bounds | None = None
        self._has_read(self.index.text, unchanged=unchanged)

    def run(self) -> None:
        """Every step in turn."""
        self._files()
        spec = self._spec()
        if spec is None:
            return
        self.claim = self.index.claim(spec)
        self._claim(self.claim)
        self._least_delay(self.claim)
        covering = partial(covers, self.claim.problem)
        needed = self._needed(self.claim)
        self.bounds = Bounds(needed, self.index.files, self.index.splits, covering)
        self._questions(spec)
        self._splits(spec)
        self._cover(self.claim)
        self._layout(self.claim)

    # Files

    def _files(self) -> None:
        """Every file exists and is as it was written, and there is no other file."""
        self.progress(f"{len(self.index.files)} files")
        expected = {proven.stem + suffix for proven in self.index.questions for suffix in SUFFIXES}
        expected |= {SPEC}
        if self.index.status is Status.FOUND:
            expected |= {LAYOUT, VERDICT}
        self.problems += file_problems(self.folder, self.index.files, expected)

    def _spec(self) -> Spec | None:
        if not (self.folder / SPEC).is_file():
            return None
        try:
            return Spec.load(self.folder / SPEC)
        except InputError as error:
            self._blame(SPEC, f"it cannot be read: {error.problem}")
            return None

    # The claim

    def _claim(self, claim: Claim) -> None:
        """The claim is about the specification, and its words agree with its data."""
        if claim.problem.spec.limits != self.index.limits:
            self._blame(INDEX, f"its limits are not those of {SPEC}")
        if not self._has_values(claim):
            self._blame(INDEX, "its values are not one for each measure")
        elif self.index.words_of(claim) != self.index.text:
            self._blame(INDEX, "the claim in words is not the claim in data")

    def _needed(self, claim: Claim) -> list[BoxQuestion] | None:
        """What the claim needs; None if it is undecided and so needs nothing, or is no claim."""
        same_limits = claim.problem.limits == self.index.limits
        if claim.status is Status.UNDECIDED or not same_limits or not self._has_values(claim):
            return None
        return needs(claim)

    def _has_values(self, claim: Claim) -> bool:
        """Whether a claim has a value for each of its measures, where it has to."""
        measures = claim.problem.measures
        wanted = set(measures) if claim.status is Status.FOUND else set()
        return bool(measures) and set(claim.values) == wanted

    def _cover(self, claim: Claim) -> None:
        """Every box that the claim needs, worked out anew, is shown to hold no layout."""
        if self._blamed(INDEX):
            return
        needed = needs(claim)
        if needed != [need for need, _ in self.index.boxes]:
            missing = set(needed) - {need for need, _ in self.index.boxes}
            example = f": {min(missing, key=str)} is not among them" if missing else ""
            self._blame(INDEX, f"its boxes are not those that the claim needs{example}")
        # A cube alone shows nothing about its box.
        answers = {audited.stem: audited.question for audited in self.questions if not audited.cube}
        answers |= {split.stem: split.question for split in self.index.splits}
        for need, stem in self.index.boxes:
            answer = answers.get(stem)
            if stem == LEAST_DELAY:
                wrong = wrong_need(self.index, need)
                if wrong is not None:
                    self._blame(INDEX, wrong)
            elif answer is None:
                self._blame(INDEX, f"no question {stem!r} to show that {need} has no layout")
            elif not covers(claim.problem, answer, need):
                self._blame(INDEX, f"{stem} says nothing of {need}")

    def _least_delay(self, claim: Claim) -> None:
        """The least delay is the one that the truth table gives."""
        wrong = wrong_delay(self.index, claim.problem.spec.function)
        if wrong is not None:
            self._blame(INDEX, wrong)

    def _questions(self, spec: Spec) -> None:
        """Each question is checked by itself, several at a time."""
        index = self.index
        untouched = {entry.name for entry in index.files} - {p.file for p in self.problems}
        inspector = Inspector(
            self.folder,
            spec,
            index.rules,
            self.checker,
            symmetry=self.symmetry,
            readable=frozenset(untouched),
            made_by=str(index.made.get("encoder")),
        )
        known = [p for p in index.questions if self._is_wanted(p, spec, inspector)]
        with ThreadPoolExecutor(self.workers) as threads:
            try:
                inspected = threads.map(inspector.inspect, known)
                for number, (audited, problems) in enumerate(inspected, 1):
                    self.progress(f"[{number}/{len(known)}] {audited}")
                    self.questions.append(audited)
                    self.problems += problems
            except BaseException:
                threads.shutdown(wait=False, cancel_futures=True)
                raise

    def _is_wanted(self, proven: Proven, spec: Spec, inspector: Inspector) -> bool:
        """Whether the formula of a question or cube has to be derived."""
        assert self.bounds is not None
        if proven.cube is not None and proven.cube.pin not in spec.pins:
            self._blame(INDEX, f"a cube holds {proven.cube.pin!r}, which is no pin")
            return False
        try:
            self.bounds.require(proven, inspector.question(proven))
        except Unneeded as reason:
            self._blame(INDEX, str(reason))
            return False
        return True

    def _splits(self, spec: Spec) -> None:
        """If a question was answered by cubes, its cubes cover it."""
        assert self.bounds is not None
        for split in self.index.splits:
            self._is_covered(split, question_of(split, spec, self.index.rules), self.bounds)

    # The layout

    def _layout(self, claim: Claim) -> None:
        """The layout does what is asked, keeps the limits, and has the measures claimed."""
        if claim.status is not Status.FOUND or self._blamed(LAYOUT, VERDICT, SPEC):
            return
        self.progress("the layout")
        try:
            layout = Layout.load(self.folder / LAYOUT)
            verdict = check(layout, claim.problem.spec, rules=claim.problem.rules)
        except InputError as error:
            self._blame(LAYOUT, f"it cannot be played: {error.problem}")
            return
        for fault in verdict.faults:
            self._blame(LAYOUT, f"the simulator rejects it: {fault.text}")
        try:
            kept = parse_json(read_text(self.folder / VERDICT))
        except InputError:
            kept = None
        if kept != verdict.document():
            self._blame(VERDICT, "it is not the verdict of the simulator")
        for name in LIMITED:
            value = measured(layout, verdict.delay, name)
            most = getattr(claim.problem.limits, name)
            if most is not None and (value is None or value > most):
                self._blame(LAYOUT, f"its {name} is {value}, the limit is {most}")
        for name, value in claim.values.items():
            if (own := measured(layout, verdict.delay, name)) != value:
                self._blame(INDEX, f"it claims a {name} of {value}; that of the layout is {own}")

    def _certain(self) -> list[str]:
        claim, index = self.claim, self.index
        assert claim is not None
        boxes, count = len(index.boxes), len(index.questions)
        proofs = f"{counted(count, 'proof')} checked by {self.checker.name}"
        if claim.status is Status.UNDECIDED:
            listed = "; ".join(
                [*map(str, self.questions), *(str(s.question) for s in index.splits)]
            )
            return [f"No layout exists in: {listed or 'no box'} ({proofs}).", *certain_delay(index)]
        smaller = "comes before it" if claim.status is Status.FOUND else "the limits leave"
        said = [f"No box that {smaller} holds a layout: {counted(boxes, 'box')}, {proofs}."]
        if claim.status is Status.FOUND:
            said.insert(0, "The layout does what is asked: the simulator passes it.")
        return [*said, *certain_delay(index)]

    def _rests_on(self) -> list[str]:
        claim = self.claim
        assert claim is not None
        delays = ", ".join(map(str, claim.problem.rules.buffer_delays))
        stacked = "" if claim.problem.spec.stack is None else " and no copy leans on another"
        said = [
            "That the formulas say what the medium says. They were derived anew from the "
            f"specification by {encoder_version()}; the tests of gatefit compare encoder and "
            "simulator on every layout of tiny boxes.",
            f"The medium with reach {claim.problem.rules.reach} and buffer delays {delays}; "
            f"layouts in which no buffer holds another{stacked}.",
        ]
        if self.index.version < 3:
            said.append(
                "The claim in words is that of an earlier version and names numbers only. In force "
                f"were: {limits_text(claim.problem)}."
            )
        said += delay_rests_on(self.index)
        said += links_rest_on(self.questions)
        if claim.sides_exchange:
            said.append(
                "That a layout turned by a quarter is a layout (the medium has no preferred level "
                "direction): a box shorter than wide follows from the one with sides exchanged."
            )
        asked = {audited.stem: audited.question.size for audited in self.questions}
        lower = sum(asked.get(stem, need.size) != need.size for need, stem in self.index.boxes)
        if lower:
            said.append(
                "That a box holds whatever a lower one of its length and width holds (an argument "
                f"from the rules of the medium: synth/questions/cover.py): {counted(lower, 'box')} "
                "shown by taller ones."
            )
        return [*said, *self._splitting_rests_on(len(self.index.splits))]


__all__ = ["audit"]
