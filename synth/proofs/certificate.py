"""The certificate: a folder that holds everything that a claim rests on, for anyone to check.

A search that is stopped leaves its evidence there for the next one (``synth.proofs.kept_proofs``).
"""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from synth.bounds import NO_BOUND, DelayBound
from synth.errors import OutputError, reason_of
from synth.files import write_text
from synth.layout import Layout
from synth.layout.documents import layout_text
from synth.proofs.certificate_index import (
    INDEX,
    LAYOUT,
    LEAST_DELAY,
    SPEC,
    UNFINISHED,
    VERDICT,
    Index,
)
from synth.proofs.evidence import SUFFIXES
from synth.proofs.folder import ProofFolder
from synth.proofs.index_entries import FileEntry, Proven, Split, encoder_version
from synth.proofs.kept_proofs import KeptProofs
from synth.questions.box import BoxQuestion
from synth.questions.cover import Claim, covers, needs
from synth.questions.cubes import Cube
from synth.questions.outcome import Status
from synth.questions.problem import Problem
from synth.simulator import check
from synth.spec.documents import write_spec
from synth.versions import VERSION, package_version


class CertificateFolder(ProofFolder):
    """The folder of the certificate of one problem; see ``ProofFolder``."""

    def keep_proofs(self, problem: Problem, solver: str, seed: int) -> KeptProofs:
        """The proofs that a stopped search for the same question left here; it lists new ones, too.

        Raises:
            InputError: if the folder cannot be written to, or holds the finished certificate of
                another question.
        """
        self.keeps_unfinished = True
        self.require_same(problem.spec)
        with self.being_prepared():
            return KeptProofs(self.unfinished, problem, solver, seed)

    def finish(
        self,
        claim: Claim,
        proven: Iterable[Proven],
        splits: Mapping[BoxQuestion, Sequence[Cube]],
        layout: Layout | None,
        made: Mapping[str, Any],
        *,
        least_delay: DelayBound = NO_BOUND,
    ) -> None:
        """Put the certificate in its place.

        Args:
            claim: the claim.
            proven: every question and cube whose evidence is in ``unfinished``.
            splits: the questions answered by cubes, each with its cubes.
            layout: the layout found.
            made: facts about how it was made.
            least_delay: the delay below which there is no layout at all, if the claim needs it.

        Raises:
            InputError: if it cannot be written.
            RuntimeError: if the evidence does not cover the claim (a fault of the search).
        """
        every = sorted(proven, key=lambda proof: (proof.question.order, proof.cube or ()))
        found_splits = [_split(question, cubes, every) for question, cubes in splits.items()]
        boxes = shown_by(claim, every, found_splits, least_delay)
        used = {stem for _, stem in boxes}
        kept_splits = tuple(
            split
            for split in sorted(found_splits, key=lambda split: split.question.order)
            if split.stem in used or claim.status is Status.UNDECIDED
        )
        used.update(*(split.cubes for split in kept_splits))
        questions = tuple(
            proof for proof in every if proof.stem in used or claim.status is Status.UNDECIDED
        )
        try:
            self.replace_old([proof.stem + suffix for proof in questions for suffix in SUFFIXES])
            write_text(self.path / SPEC, write_spec(claim.problem.spec))
            if layout is not None:
                verdict = check(layout, claim.problem.spec, rules=claim.problem.rules)
                write_text(self.path / LAYOUT, layout_text(layout))
                document = json.dumps(verdict.document(), indent=1)
                write_text(self.path / VERDICT, document + "\n")
            index = Index(
                text=claim.text(),
                status=claim.status,
                measures=claim.problem.measures,
                limits=claim.problem.spec.limits,
                rules=claim.problem.rules,
                values=claim.values,
                boxes=tuple(boxes),
                questions=questions,
                made={"encoder": encoder_version(), **made},
                files=tuple(
                    FileEntry.of(entry)
                    for entry in sorted(self.path.iterdir())
                    if entry.name not in (INDEX, UNFINISHED)
                ),
                splits=kept_splits,
                least_delay=least_delay,
            )
            write_text(self.path / INDEX, index.render())
        except OSError as error:
            raise OutputError(
                f"the certificate cannot be written ({reason_of(error)})",
                file=str(self.path),
            ) from None


def shown_by(
    claim: Claim,
    proven: Iterable[Proven],
    splits: Iterable[Split],
    least_delay: DelayBound = NO_BOUND,
) -> list[tuple[BoxQuestion, str]]:
    """Each need of a claim with what shows it: the stem of a question, or ``LEAST_DELAY``.

    Raises:
        RuntimeError: if nothing shows a need.
    """
    answers = [(split.question, split.stem) for split in splits]
    answers += [(proof.question, proof.stem) for proof in proven if proof.cube is None]
    exact = dict(answers)
    shown = []
    for need in needs(claim):
        if need.delay < least_delay.ticks:
            shown.append((need, LEAST_DELAY))
            continue
        fitting = [stem for question, stem in answers if covers(claim.problem, question, need)]
        if not fitting:
            raise RuntimeError(f"no proof was kept that there is no layout in {need}")
        shown.append((need, exact.get(need) or min(fitting)))
    return shown


def _split(question: BoxQuestion, cubes: Sequence[Cube], proven: Iterable[Proven]) -> Split:
    """The entry of a question that was answered by cubes."""
    stems = {p.cube: p.stem for p in proven if p.question == question and p.cube is not None}
    first = cubes[0]
    return Split(
        question,
        stems[first].removesuffix(first.suffix),
        tuple(stems[cube] for cube in cubes),
    )


def how_made(solver: str, seed: int) -> dict[str, Any]:
    """The facts that an index states about the solver and the package."""
    return {
        "gatefit": VERSION,
        "solver": solver,
        "seed": seed,
        "python-sat": package_version("python-sat"),
    }
