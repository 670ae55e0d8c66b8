"""Thirty designs with one planted fault each: the review finds it, and repair mends it."""

from __future__ import annotations

import pytest

from synth.medium_rules import MEDIUM_RULES
from synth.questions.outcome import Status
from synth.repairing import repair
from synth.reviewing import Severity, review
from synth.simulator import check
from tests.reviewing.planted import PLANTED, Planted

each = pytest.mark.parametrize("planted", PLANTED, ids=lambda planted: planted.name)


def test_there_are_thirty_of_different_rules() -> None:
    assert len(PLANTED) >= 30
    rules = {planted.name.partition(":")[0] for planted in PLANTED}
    assert rules <= set(MEDIUM_RULES)
    assert len(rules) >= 28


@each
def test_the_layout_was_right_and_is_not(planted: Planted) -> None:
    assert check(planted.right, planted.spec).passes
    assert not check(planted.wrong, planted.spec).passes


@each
def test_the_review_names_the_cell(planted: Planted) -> None:
    faults = review(planted.wrong, planted.spec).of(Severity.FAULT)
    assert planted.at in {place.at for fault in faults for place in fault.places}


@each
def test_repair_mends_it_with_no_more_changes(planted: Planted) -> None:
    mended = repair(planted.wrong, planted.spec)
    assert mended.status is Status.FOUND
    assert mended.layout is not None
    assert check(mended.layout, planted.spec).passes
    assert mended.changes <= 1
    if planted.change.stack is None:
        assert mended.changes == 1


def test_the_best_remedy_is_mostly_at_the_cell() -> None:
    there = 0
    for planted in PLANTED:
        faults = review(planted.wrong, planted.spec).of(Severity.FAULT)
        best = next(fault.remedies[0] for fault in faults if fault.remedies)
        assert best.passes
        there += planted.at in best.change.cells or not best.change.cells
    assert there >= 28
