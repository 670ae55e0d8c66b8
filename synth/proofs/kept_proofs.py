"""Proofs of a search for one function that was stopped, from which the next one continues."""

from __future__ import annotations

from pathlib import Path

from synth.proofs.index_entries import Proven, encoder_version, read_question
from synth.proofs.proof_list import ProofList
from synth.questions.journal import Journal
from synth.questions.problem import Problem

LIST = "proofs.jsonl"


class KeptProofs(ProofList[Proven]):
    """The proofs in a folder, for one question and one way to ask it; see ``ProofList``.

    Args:
        folder: the folder into which the workers write.
        problem, solver, seed: what is asked; limits on sizes and delay may differ.
    """

    def __init__(self, folder: Path, problem: Problem, solver: str, seed: int) -> None:
        asked = Journal.of(problem, solver, seed).heading
        heading = {**asked, "format": "gatefit-proofs", "encoder": encoder_version()}
        super().__init__(folder, LIST, heading, "proven", read_question)
