"""Certificates that rest on the least delay: they pass, and a bound that is not one is caught."""

from __future__ import annotations

import json
import shutil
from dataclasses import replace
from pathlib import Path

import pytest

import synth
from synth.bounds import NO_BOUND, DelayBound, least_delay
from synth.proofs.certificate_index import INDEX, LEAST_DELAY, Index
from synth.questions.box import BoxQuestion
from synth.questions.outcome import Outcome
from synth.spec import Limits, Spec
from synth.spec.documents import write_spec
from tests.proofs.certificates import forged
from tests.waiting import Clock, RunsOut

TOO_FAST = Spec.parse("q = a ^ b", length=3, width=2, height=3, delay=1, stack="y")
FASTEST = Spec.parse("q = a & ~b", length=3, width=1, height=3, delay=2)


def certified(spec: Spec, folder: Path, **options: object) -> Outcome:
    return synth.solve(spec, certificate=folder, workers=1, **options)  # type: ignore[arg-type]


@pytest.fixture(scope="module")
def original(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("delay") / "c"
    certified(FASTEST, folder, minimize=("delay", "volume"))
    return folder


@pytest.fixture
def folder(original: Path, tmp_path: Path) -> Path:
    shutil.copytree(original, tmp_path / "c")
    return tmp_path / "c"


def test_certificate_of_a_delay_alone_needs_no_proof(tmp_path: Path) -> None:
    outcome = certified(TOO_FAST, tmp_path / "c")
    assert outcome.status is synth.Status.IMPOSSIBLE
    assert {path.name for path in (tmp_path / "c").iterdir()} == {INDEX, "spec.toml"}
    index = json.loads((tmp_path / "c" / INDEX).read_text("utf-8"))
    assert index["version"] == 4
    assert index["least_delay"]["ticks"] == 2
    assert {box["shown_by"] for box in index["boxes"]} == {LEAST_DELAY}
    report = synth.audit(tmp_path / "c")
    assert report.passes, report.problems
    assert "1 tick cannot be had by any layout: q must be 1 at a=1 b=0" in report.certain[-1]
    assert "18 of the boxes rest on it" in report.certain[-1]
    assert any("synth/bounds/delay.py" in line for line in report.rests_on)


def test_certificate_of_the_fastest_rests_on_both(folder: Path) -> None:
    report = synth.audit(folder)
    assert report.passes, report.problems
    assert report.questions
    assert all(question.question.delay == 2 for question in report.questions)
    assert "1 tick cannot be had" in report.certain[-1]


def test_what_needs_no_bound_says_nothing_of_it(tmp_path: Path) -> None:
    certified(FASTEST.replace(limits=Limits(2, 1, 2, delay=2)), tmp_path / "c")
    index = json.loads((tmp_path / "c" / INDEX).read_text("utf-8"))
    assert "least_delay" not in index
    report = synth.audit(tmp_path / "c")
    assert report.passes, report.problems
    assert "cannot be had" not in " ".join((*report.certain, *report.rests_on))


def test_left_out_the_solver_proves_it_all(tmp_path: Path) -> None:
    certified(TOO_FAST, tmp_path / "c", without=("least-delay", "tallest"))
    report = synth.audit(tmp_path / "c", symmetry=False)
    assert report.passes, report.problems
    assert len(report.questions) == 18


def test_earlier_version_has_no_bound(folder: Path) -> None:
    """Whoever rests boxes of such a certificate on one all the same is caught."""
    spec = Spec.load(folder / "spec.toml")

    def earlier(index: Index) -> Index:
        return replace(index, version=2, text=index.claim(spec).text_with_sizes_only())

    said = forged(folder, earlier)
    assert any("the least delay says nothing of" in line for line in said)


def test_undecided_search_keeps_the_bound(tmp_path: Path, clock: Clock) -> None:
    spec = Spec.parse("q = a ^ b", length=4, width=2, height=4, delay=2, stack="y")
    outcome = certified(
        spec,
        tmp_path / "c",
        minimize=("delay", "volume"),
        time_limit_s=1000,
        reporter=RunsOut(clock, 3),
        without=("structure",),
    )
    assert outcome.status is synth.Status.UNDECIDED
    report = synth.audit(tmp_path / "c", symmetry=False)
    assert report.passes, report.problems
    assert "1 tick cannot be had by any layout" in report.certain[-1]


def test_bound_of_a_function_that_does_not_have_it_is_found(folder: Path) -> None:
    """The specification is changed to one that a tick is enough for, the claim with it."""
    other = Spec.parse("q = ~a & ~b").replace(limits=FASTEST.limits)
    (folder / "spec.toml").write_text(write_spec(other), encoding="utf-8")
    said = forged(folder, lambda index: index)
    assert any("no layout meets fewer than 2 ticks" in line for line in said)
    assert any("the bound is 1" in line for line in said)
    assert all(
        line.startswith((INDEX, "layout.json", "verdict.json", "2x", "1x", "3x")) for line in said
    )


def test_bound_that_is_raised_is_found(folder: Path) -> None:
    def raised(index: Index) -> Index:
        bound = DelayBound(3, index.least_delay.reason.replace("1 tick", "2 ticks"))
        needs = [(need, LEAST_DELAY) for need, _ in index.boxes]
        return replace(index, least_delay=bound, boxes=tuple(needs))

    said = forged(folder, raised)
    assert any(
        line.startswith(f"{INDEX}: it says that no layout meets fewer than 3") for line in said
    )


def test_bound_that_is_said_of_too_much_is_found(folder: Path) -> None:
    def stretched(index: Index) -> Index:
        return replace(index, boxes=tuple((need, LEAST_DELAY) for need, _ in index.boxes))

    said = forged(folder, stretched)
    assert f"{INDEX}: the least delay says nothing of 1 x 1 x 1, delay at most 2" in said


def test_bound_that_is_left_out_is_found(folder: Path) -> None:
    said = forged(folder, lambda index: replace(index, least_delay=NO_BOUND))
    assert any("the least delay says nothing of" in line for line in said)


def test_box_left_out_is_found(folder: Path) -> None:
    def shorter(index: Index) -> Index:
        kept = [box for box in index.boxes if box[0] != BoxQuestion((1, 1, 1), 1)]
        assert len(kept) == len(index.boxes) - 1
        return replace(index, boxes=tuple(kept))

    assert "not those that the claim needs" in " ".join(forged(folder, shorter))


def test_reason_that_is_not_the_one_is_found(folder: Path) -> None:
    other = least_delay(Spec.parse("q = a & b").function)
    assert "or the reason of it" in " ".join(
        forged(folder, lambda index: replace(index, least_delay=other))
    )


@pytest.mark.parametrize("ticks", [0, -1, "2", 1.5, 10**9])
def test_ticks_that_make_no_sense_are_said(folder: Path, ticks: object) -> None:
    document = json.loads((folder / INDEX).read_text("utf-8"))
    document["least_delay"]["ticks"] = ticks
    (folder / INDEX).write_text(json.dumps(document), encoding="utf-8")
    with pytest.raises(synth.InputError, match=r"ticks") as caught:
        synth.audit(folder)
    assert caught.value.place == "least_delay.ticks"
