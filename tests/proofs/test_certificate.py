"""Certificates: what is in them, the same in every run, whole or not there at all."""

from __future__ import annotations

import hashlib
import json
import os
import signal
import subprocess
import sys
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

import synth
from synth.errors import InputError
from synth.proofs.certificate import UNFINISHED, CertificateFolder
from synth.proofs.certificate_index import INDEX, LEAST_DELAY
from synth.proofs.evidence import SUFFIXES
from synth.questions.outcome import Status
from synth.search.workers.crew import Crew
from synth.search.workers.solvers import SOLVERS
from tests.proofs.certificates import ASKED, copy_of, make, spec_of, unpack
from tests.waiting import Clock, RunsOut, wait_until

TINY = synth.Spec.parse("q = ~a", length=1, width=1, height=2, delay=1)
PROGRAM = (sys.executable, "-m", "synth.cli.main")
HARD = "q = a ^ b"
HARD_LIMITS = {"length": 5, "width": 2, "height": 5, "delay": 2, "stack": "y"}


def contents(folder: Path) -> dict[str, bytes]:
    return {path.name: path.read_bytes() for path in folder.iterdir()}


@pytest.mark.parametrize("name", ASKED)
def test_index_lists_every_file_and_shows_every_box(name: str, tmp_path: Path) -> None:
    folder = copy_of(name, tmp_path)
    index = json.loads((folder / INDEX).read_text("utf-8"))
    files = {entry["name"]: entry for entry in index["files"]}
    assert set(files) | {INDEX} == {path.name for path in folder.iterdir()}
    for name_of_file, entry in files.items():
        data = (folder / name_of_file).read_bytes()
        assert entry["size"] == len(data)
        assert entry["sha256"] == hashlib.sha256(data).hexdigest()
    stems = {question["evidence"] for question in index["questions"]}
    assert {box["shown_by"] for box in index["boxes"]} - {LEAST_DELAY} == stems
    assert {stem + suffix for stem in stems for suffix in SUFFIXES} <= set(files)
    found = index["claim"]["status"] == "found"
    assert ("layout.json" in files) == ("verdict.json" in files) == found
    assert synth.Spec.load(folder / "spec.toml") == spec_of(name)
    assert index["made"]["solver"] == "cadical195"


def test_map_names_every_variable_and_counts_every_clause(tmp_path: Path) -> None:
    folder = copy_of("parts", tmp_path)
    for path in folder.glob("*.map.gz"):
        head, rules, variables = unpack(path).split("\n\n")
        assert head
        title, *counts = rules.splitlines()
        assert title == "Clauses by rule"
        heading, *named = variables.splitlines()
        assert heading == "Variables"
        _, _, said_variables, said_clauses = (
            unpack(path.with_name(path.name.replace(".map.", ".cnf."))).partition("\n")[0].split()
        )
        assert len(named) == int(said_variables)
        assert [int(line.split()[0]) for line in named] == list(range(1, len(named) + 1))
        assert sum(int(line.split()[0]) for line in counts) == int(said_clauses)


@pytest.mark.parametrize("workers", [1, 2])
def test_same_question_gives_the_same_bytes(workers: int, tmp_path: Path) -> None:
    make("parts", tmp_path / "again", workers=workers)
    assert contents(tmp_path / "again") == contents(copy_of("parts", tmp_path))


@pytest.mark.parametrize("solver", [name for name in SOLVERS if SOLVERS[name].proof])
def test_certificates_of_every_solver_that_proves_pass(solver: str, tmp_path: Path) -> None:
    make("impossible", tmp_path / "c", solver=solver, workers=1)
    assert synth.audit(tmp_path / "c", symmetry=False).passes


def test_proof_of_a_shuffled_formula_is_one_of_the_formula(tmp_path: Path) -> None:
    make("impossible", tmp_path / "c", seed=7, workers=1)
    assert synth.audit(tmp_path / "c", symmetry=False).passes
    proofs = {path.name: path.read_bytes() for path in (tmp_path / "c").glob("*.drat.gz")}
    others = copy_of("impossible", tmp_path)
    assert any((others / name).read_bytes() != data for name, data in proofs.items())


def test_other_rules_and_cells_pass(tmp_path: Path) -> None:
    spec = synth.Spec.parse("q = a", length=2, width=1, height=2, delay=1)
    spec = spec.replace(empty=frozenset({(0, 0, 0)}), ground=True)
    rules = synth.Rules(reach=2, buffer_delays=(2,))
    synth.solve(spec, rules=rules, certificate=tmp_path / "c")
    report = synth.audit(tmp_path / "c")
    assert report.passes, report.problems
    assert any("reach 2 and buffer delays 2" in line for line in report.rests_on)


@pytest.mark.parametrize(
    "measures", [("delay", "parts"), ("height", "volume"), ("floor", "parts", "delay")]
)
def test_walk_answers_all_that_the_claim_needs(measures: tuple[str, ...], tmp_path: Path) -> None:
    spec = synth.Spec.parse("q = ~a", length=2, width=2, height=2, delay=2, parts=4)
    outcome = synth.solve(spec, minimize=measures, certificate=tmp_path / "c")
    assert outcome.status is Status.FOUND
    report = synth.audit(tmp_path / "c", symmetry=False)
    assert report.passes, report.problems


def test_undecided_search_keeps_what_it_ruled_out(tmp_path: Path, clock: Clock) -> None:
    spec = synth.Spec.parse(HARD, **HARD_LIMITS)
    limits = {"time_limit_s": 1.5, "workers": 1, "reporter": RunsOut(clock, 6)}
    outcome = synth.solve(spec, certificate=tmp_path / "c", without=["structure"], **limits)
    assert outcome.status is Status.UNDECIDED
    report = synth.audit(tmp_path / "c", symmetry=False)
    assert report.passes, report.problems
    assert len(report.questions) == len(outcome.stats.boxes_ruled_out) == 6
    assert "others are open" in report.claimed
    assert not any("smallest" in line for line in (report.claimed, *report.certain))


# What a folder must be


@pytest.mark.parametrize("solver", [name for name in SOLVERS if not SOLVERS[name].proof])
def test_solver_without_proofs_is_refused_before_anything(solver: str, tmp_path: Path) -> None:
    with pytest.raises(InputError, match=f"{solver} writes no proofs; use one of cadical195"):
        synth.solve(TINY, solver=solver, certificate=tmp_path / "c")
    assert not (tmp_path / "c").exists()


def test_folder_with_other_files_is_refused_and_untouched(tmp_path: Path) -> None:
    (tmp_path / "letter.txt").write_text("dear", encoding="utf-8")
    with pytest.raises(InputError, match=r"holds other files \('letter.txt'\)"):
        synth.solve(TINY, certificate=tmp_path)
    (tmp_path / "letter.txt").rename(tmp_path / "spec.toml")
    with pytest.raises(InputError, match=r"holds other files \('spec.toml'\)"):
        synth.solve(TINY, certificate=tmp_path)
    assert contents(tmp_path) == {"spec.toml": b"dear"}


def test_certificate_with_a_file_of_others_is_refused(tmp_path: Path) -> None:
    folder = copy_of("parts", tmp_path)
    (folder / "notes").write_text("mine", encoding="utf-8")
    before = contents(folder)
    with pytest.raises(InputError, match=r"holds other files \('notes'\)"):
        synth.solve(TINY, certificate=folder)
    assert contents(folder) == before


@pytest.mark.parametrize("place", ["file", "file/below", "nowhere/below"])
def test_place_that_cannot_be_written_is_refused_before_the_search(
    place: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / "file").write_text("", encoding="utf-8")
    monkeypatch.setattr(Crew, "submit", lambda crew, task: pytest.fail("a question was put"))
    with pytest.raises(InputError, match="cannot hold a certificate"):
        synth.solve(synth.Spec.parse(HARD, **HARD_LIMITS), certificate=tmp_path / place)


def test_new_certificate_takes_the_place_of_an_old_one(tmp_path: Path) -> None:
    folder = copy_of("parts", tmp_path)
    before = contents(folder)
    (folder / INDEX).write_text("an older one", encoding="utf-8")
    make("parts", folder)
    assert contents(folder) == before


def test_the_certificate_of_another_question_is_not_replaced(tmp_path: Path) -> None:
    folder = copy_of("smallest", tmp_path)
    before = contents(folder)
    with pytest.raises(InputError, match=r"smallest: holds the certificate of another question"):
        make("parts", folder)
    assert contents(folder) == before


def test_other_limits_are_no_other_question(tmp_path: Path) -> None:
    folder = copy_of("parts", tmp_path)
    spec = spec_of("parts")
    wider = spec.replace(limits=replace(spec.limits, delay=(spec.limits.delay or 0) + 1))
    CertificateFolder(folder).require_same(wider)
    with pytest.raises(InputError, match="another question"):
        CertificateFolder(folder).require_same(spec.replace(ground=not spec.ground))


# Ends before its time


def test_search_that_fails_leaves_an_older_certificate_alone(tmp_path: Path) -> None:
    folder = copy_of("parts", tmp_path)
    before = contents(folder)
    with pytest.raises(KeyboardInterrupt), CertificateFolder(folder):
        raise KeyboardInterrupt
    assert contents(folder) == before


def test_search_that_fails_leaves_no_folder_behind(tmp_path: Path) -> None:
    with pytest.raises(KeyboardInterrupt), CertificateFolder(tmp_path / "c"):
        raise KeyboardInterrupt
    assert not (tmp_path / "c").exists()


@pytest.mark.parametrize("number", [signal.SIGKILL, signal.SIGTERM])
def test_killed_search_leaves_no_index_and_its_folder_can_be_used_again(
    number: signal.Signals, tmp_path: Path
) -> None:
    folder = tmp_path / "c"
    limits = [f"--{name}={value}" for name, value in HARD_LIMITS.items()]
    search = subprocess.Popen(
        [*PROGRAM, "solve", HARD, *limits, "--quiet", "--certificate", str(folder)],
        cwd=Path(synth.__file__).parents[1],
        stderr=subprocess.DEVNULL,
    )

    def has_a_proof() -> bool:
        assert search.poll() is None
        return any((folder / UNFINISHED).glob("*.drat.gz"))

    wait_until(has_a_proof, "no proof is written")
    search.send_signal(number)
    search.wait()
    assert list(folder.iterdir()) == [folder / UNFINISHED]
    make("parts", folder)
    assert contents(folder) == contents(copy_of("parts", tmp_path))


def test_late_worker_of_a_killed_search_leaves_nothing_behind(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    folder = tmp_path / "c"
    late = ["first.drat.gz", "second.drat.gz"]
    rmdir = os.rmdir

    def write_before(path: str, **options: Any) -> None:
        if late and Path(path).name == UNFINISHED:
            (folder / UNFINISHED / late.pop()).touch()
        rmdir(path, **options)

    monkeypatch.setattr(os, "rmdir", write_before)
    make("parts", folder)
    assert not late
    assert contents(folder) == contents(copy_of("parts", tmp_path))
