"""Fewest parts after the measures asked: the same in every run, said beside the claim."""

from __future__ import annotations

from pathlib import Path

import pytest

import synth
from synth.questions.box import BoxQuestion
from synth.questions.events import BoxEnded, BoxStarted
from synth.questions.journal import Journal
from synth.questions.problem import Problem
from synth.search import Outcome, Status, solve
from synth.search.walk import fewest
from synth.search.walk.searching import search
from synth.search.workers.settings import Settings
from synth.search.workers.solvers import DEFAULT_SOLVER
from synth.simulator import check
from synth.spec import Limits, Spec
from tests.waiting import Log

NOR = Spec.parse("q = ~(a | b)", length=4, width=2, height=4, stack="y", delay=2)
FEWEST = "3 parts, the fewest in this box: fewer were ruled out by the solver"


def parts_of(outcome: Outcome) -> int:
    assert outcome.status is Status.FOUND
    assert outcome.layout is not None
    assert outcome.verdict is not None
    assert outcome.verdict.passes
    return outcome.layout.part_count


def test_parts_are_brought_down_in_the_box_found() -> None:
    log = Log()
    plain = solve(NOR, workers=1, fewest_parts=False)
    few = solve(NOR, workers=1, reporter=log)
    assert (parts_of(plain), plain.parts) == (4, "")
    assert (parts_of(few), few.parts) == (3, FEWEST)
    assert plain.layout is not None
    assert few.layout is not None
    assert few.layout.size == plain.layout.size
    assert few.claim == plain.claim
    told = [event.parts for event in log.events if isinstance(event, BoxStarted) and event.parts]
    assert told == [3, 2]
    ended = [event.answer for event in log.events if isinstance(event, BoxEnded) and event.parts]
    assert ended == ["found", "impossible"]


def test_the_layout_is_the_same_however_many_workers() -> None:
    spec = Spec.parse("q = a & ~b", length=2, width=2, height=3, stack="y", delay=2)
    first, second = (solve(spec, workers=workers) for workers in (1, 2))
    assert (first.layout, first.parts) == (second.layout, second.parts)
    assert "the fewest in this box" in first.parts


def test_the_fewest_of_the_box_is_what_minimising_parts_finds() -> None:
    few = solve(NOR, workers=1)
    assert few.layout is not None
    box = NOR.replace(limits=Limits(*few.layout.size, delay=2))
    assert parts_of(solve(box, minimize=["volume", "parts"], workers=1)) == parts_of(few)


def test_parts_stay_level_in_a_delay_that_was_minimised() -> None:
    spec = Spec.parse("q = ~(a | b)", length=2, width=2, height=3, stack="y", delay=3)
    outcome = solve(spec, minimize=["volume", "delay"], workers=1)
    plain = solve(spec, minimize=["volume", "delay"], workers=1, fewest_parts=False)
    assert outcome.layout is not None
    assert outcome.verdict is not None
    assert plain.verdict is not None
    assert outcome.verdict.delay == plain.verdict.delay
    assert check(outcome.layout, spec, delay=outcome.verdict.delay).passes


def test_what_the_budget_did_not_decide_is_not_excluded(monkeypatch: pytest.MonkeyPatch) -> None:
    """A question given up is neither found nor impossible, and leaves the answer as it was."""
    monkeypatch.setattr(fewest, "CONFLICTS_TIMES_CLAUSES", 1)
    spec = Spec.parse("q = a ^ b", length=4, width=2, height=4, delay=2, stack="y", joint="buffer")
    box = [BoxQuestion((4, 2, 4), 2)]
    outcome = search(Problem(spec), Settings(), candidates=box, fewest=True)
    assert outcome.status is Status.FOUND
    assert outcome.parts == (
        f"{parts_of(outcome)} parts; fewer may be possible (minimise parts as well to search on)"
    )
    assert not outcome.stats.boxes_open


def test_no_time_left_is_no_excuse_to_claim_more(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(fewest, "SHARE", 0.0)
    outcome = solve(NOR, workers=1, time_limit_s=300)
    assert outcome.parts.endswith("fewer may be possible (minimise parts as well to search on)")


def test_parts_among_the_measures_are_the_claim_s() -> None:
    outcome = solve(NOR, minimize=["volume", "parts"], workers=1)
    assert outcome.parts == ""
    assert "parts 3" in outcome.claim


def test_impossible_has_no_parts() -> None:
    assert solve(NOR.replace(limits=Limits(1, 1, 1, delay=1)), workers=1).parts == ""


@pytest.mark.parametrize("solver", [None, "lingeling"])
def test_solvers_without_a_budget_are_helped_out(solver: str | None) -> None:
    assert solve(NOR, solver=solver, workers=1).parts == FEWEST


def test_a_certificate_is_of_the_claim_and_its_layout_has_the_fewest_parts(tmp_path: Path) -> None:
    outcome = solve(NOR, workers=1, certificate=tmp_path / "c")
    assert outcome.parts == FEWEST
    report = synth.audit(tmp_path / "c", symmetry=False)
    assert report.passes, report.problems
    assert synth.Layout.load(tmp_path / "c" / "layout.json") == outcome.layout


def test_what_was_answered_is_not_asked_again(tmp_path: Path) -> None:
    def journal() -> Journal:
        return Journal.of(Problem(NOR), DEFAULT_SOLVER, 0, tmp_path / "nor.jsonl")

    first = solve(NOR, workers=1, journal=journal())
    again = solve(NOR, workers=1, journal=journal())
    assert again.stats.questions == 0
    assert (again.layout, again.parts) == (first.layout, first.parts)
