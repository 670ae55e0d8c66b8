"""Halves of a cut: placed from either end, asked once, and left out where one has no place."""

from __future__ import annotations

import pytest

from synth.medium import Size
from synth.questions.problem import Problem
from synth.search.placing import placer as placer_module
from synth.search.placing.halves import (
    WAYS,
    Halves,
    cannot_be_placed,
    first_then_second,
    second_then_first,
    together,
)
from synth.search.placing.placer import Placer
from synth.search.placing.stages import cuts
from synth.search.workers.task import Reply, Task
from synth.simulator import check
from synth.spec import Spec
from tests.search.placing.tries import returned

AND_3 = Spec.parse("q = a & b & c", stack="y", joint="buffer", width=2, delay=4)
CUT = cuts(AND_3.function, 4)[0]
ROOMY, LOW = ((4, 2, 4), (4, 2, 5)), ((3, 2, 1),)


def placer_for(*, most: int = 1_000) -> Placer:
    return Placer(Problem.of(AND_3)[0], lambda size: size[0] * size[1] * size[2] <= most)


def test_halves_are_placed_from_either_end() -> None:
    for way in WAYS:
        found = returned(way(placer_for(), Halves(CUT, (ROOMY, ROOMY)), 4_000, (0, 0)))
        assert found is not None
        assert check(found, AND_3, delay=4).passes


def test_a_half_is_not_asked_again_with_no_more_conflicts(monkeypatch: pytest.MonkeyPatch) -> None:
    placer, asked = placer_for(), []

    def undecided(task: Task) -> Reply:
        asked.append(task)
        return Reply("undecided")

    monkeypatch.setattr(placer_module, "answer", undecided)
    halves = Halves(CUT, (ROOMY, ROOMY))
    assert returned(first_then_second(placer, halves, 100, (0, 0))) is None
    once = len(asked)
    assert returned(first_then_second(placer, halves, 100, (0, 2))) is None
    assert len(asked) == once > 0
    assert returned(first_then_second(placer, halves, 200, (0, 2))) is None
    assert len(asked) == 2 * once


def test_a_half_without_a_place_rules_out_the_pair() -> None:
    placer = placer_for()
    for boxes, way in (((LOW, ROOMY), first_then_second), ((ROOMY, LOW), second_then_first)):
        halves = Halves(CUT, boxes)
        assert not cannot_be_placed(placer, halves)
        assert returned(way(placer, halves, 4_000, (0, 0))) is None
        assert cannot_be_placed(placer, halves)
    assert not cannot_be_placed(placer, Halves(CUT, (ROOMY, ROOMY)))


def test_boxes_that_are_no_use_together_are_not_asked_about() -> None:
    one: Size = (4, 2, 4)
    assert together(one, (3, 1, 5)) == (8, 2, 5)
    whole = together(one, one)
    placer = placer_for(most=whole[0] * whole[1] * whole[2] - 1)
    for way in WAYS:
        assert returned(way(placer, Halves(CUT, ((one,), (one,))), 4_000, (0, 0))) is None
