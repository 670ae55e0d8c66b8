"""A search with a certificate that was stopped goes on from its proofs."""

from __future__ import annotations

import gzip
import shutil
from pathlib import Path
from typing import Any

import pytest

import synth
from synth.proofs.certificate import UNFINISHED
from synth.proofs.kept_proofs import LIST, KeptProofs
from synth.questions.events import BoxEnded, Event
from synth.questions.journal import Journal
from synth.questions.problem import Problem
from tests.proofs.certificates import copy_of, make, spec_of

NAME = "impossible"


class StopsAfter:
    """A reporter that interrupts the search, as the keyboard does, after so many answers."""

    def __init__(self, answers: int) -> None:
        self.left = answers

    def event(self, event: Event) -> None:
        if isinstance(event, BoxEnded) and event.answer == "impossible":
            self.left -= 1
            if self.left == 0:
                raise KeyboardInterrupt


@pytest.fixture
def stopped(tmp_path: Path) -> Path:
    folder = tmp_path / "stopped"
    with pytest.raises(KeyboardInterrupt):
        make(NAME, folder, workers=1, reporter=StopsAfter(4))
    assert len(list((folder / UNFINISHED).glob("*.drat.gz"))) >= 3
    return folder


def go_on(folder: Path, **options: Any) -> int:
    """Search again; how many questions were asked. What comes out is as if never stopped."""
    outcome = make(NAME, folder, workers=1, **options)
    assert outcome.status is synth.Status.IMPOSSIBLE
    assert synth.audit(folder, symmetry=False).passes
    assert not (folder / UNFINISHED).exists()
    questions: int = outcome.stats.questions
    return questions


def test_stopped_search_goes_on_from_its_proofs(stopped: Path, tmp_path: Path) -> None:
    kept = len((stopped / UNFINISHED / LIST).read_text("utf-8").splitlines()) - 1
    whole = make(NAME, tmp_path / "whole", workers=1).stats.questions
    assert go_on(stopped) == whole - kept < whole
    original = copy_of(NAME, tmp_path)
    assert {p.name: p.read_bytes() for p in stopped.iterdir()} == {
        p.name: p.read_bytes() for p in original.iterdir()
    }


def test_proof_that_was_touched_is_made_again(stopped: Path, tmp_path: Path) -> None:
    spare = tmp_path / "spare"
    shutil.copytree(stopped, spare)
    proof = max((stopped / UNFINISHED).glob("*.drat.gz"))
    proof.write_bytes(gzip.compress(b"0\n"))
    assert go_on(stopped) == go_on(spare) + 1


def test_line_cut_short_and_words_are_passed_over(stopped: Path, tmp_path: Path) -> None:
    spare = tmp_path / "spare"
    shutil.copytree(stopped, spare)
    path = stopped / UNFINISHED / LIST
    text = path.read_text("utf-8").rstrip("\n")
    path.write_text(text[:-20] + "\n[]\nwords\n", encoding="utf-8")
    assert go_on(stopped) == go_on(spare) + 1


def test_proofs_of_another_question_are_left_out(stopped: Path) -> None:
    whole = len(list((stopped / UNFINISHED).glob("*.drat.gz")))
    assert whole
    other = synth.Spec.parse("q = ~a", length=1, width=1, height=1, delay=1)
    synth.solve(other, certificate=stopped, workers=1)
    report = synth.audit(stopped, symmetry=False)
    assert report.passes
    assert len(report.questions) == 1


def test_another_seed_starts_anew(stopped: Path, tmp_path: Path) -> None:
    whole = make(NAME, tmp_path / "whole", workers=1).stats.questions
    assert go_on(stopped, seed=3) == whole


def test_older_certificate_stays_whole_beside_a_stopped_search(tmp_path: Path) -> None:
    folder = copy_of(NAME, tmp_path)
    with pytest.raises(KeyboardInterrupt):
        make(NAME, folder, workers=1, reporter=StopsAfter(4))
    assert (folder / UNFINISHED).is_dir()
    assert synth.audit(folder, symmetry=False).passes


def test_a_journal_beside_a_certificate_proves_nothing(tmp_path: Path) -> None:
    spec = spec_of(NAME)
    path = tmp_path / "run.jsonl"

    def journal() -> Journal:
        return Journal.of(Problem(spec), "cadical195", 0, path)

    first = synth.solve(spec, journal=journal(), workers=1)
    asked = go_on(tmp_path / "c", journal=journal())
    assert asked == first.stats.questions


@pytest.mark.parametrize(
    "line", [b"5", b"null", b"[" * 5000, b"\xff", b'{"proven":[]}', b'{"proven":{"size":[1]}}', b""]
)
def test_a_list_with_lines_that_are_no_proofs_serves_as_far_as_it_goes(
    line: bytes, stopped: Path
) -> None:
    path = stopped / UNFINISHED / LIST
    heading, *proofs = path.read_bytes().splitlines(keepends=True)
    path.write_bytes(b"".join([heading, proofs[0], line + b"\n", *proofs[1:]]))
    (stopped / UNFINISHED / "folder").mkdir()
    kept = KeptProofs(stopped / UNFINISHED, Problem(spec_of(NAME)), "cadical195", 0)
    assert len(kept.found) == len(proofs)
