"""A formula with a bound on links passes the audit only if the bound is proven anew."""

from __future__ import annotations

from pathlib import Path

import pytest

import synth
from synth.encoding import Question, encode
from synth.proofs.audit_links import unproven_links
from synth.proofs.drat import Checked
from synth.spec import Spec
from tests.proofs.certificates import copy_of


def test_the_bound_is_proven_anew(tmp_path: Path) -> None:
    report = synth.audit(copy_of("smallest", tmp_path), symmetry=False)
    assert report.passes
    assert all(question.most_links is not None for question in report.questions)
    assert any("longest way of links" in line for line in report.rests_on)


def test_a_bound_that_is_too_small_is_found(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Whoever derives the formulas with it, the claim is not certain."""
    monkeypatch.setattr("synth.encoding.rails.longest_way", lambda question: 0)
    folder = copy_of("parts", tmp_path)
    report = synth.audit(folder, symmetry=False)
    assert any("a way of 1 links fits the box" in problem.text for problem in report.problems)
    assert not all(question.proven for question in report.questions)


def test_a_proof_that_does_not_hold_is_found(tmp_path: Path) -> None:
    class Doubting:
        """A checker that verifies nothing."""

        name = "doubt"

        def check(self, formula: bytes, proof: bytes) -> Checked:
            return Checked(False, "I doubt it", 0)

    encoding = encode(Question(Spec.parse("q = ~a", stack="y"), (2, 2, 2), 1))
    assert unproven_links(encoding, Doubting()) == "the proof does not hold: I doubt it"
    assert unproven_links(encode(encoding.question.without(["links"])), Doubting()) is None
