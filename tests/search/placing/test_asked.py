"""Halves asked whole: right, from the harder half on, and asked no more where there is none."""

from __future__ import annotations

from functools import cache
from itertools import combinations, islice, product
from random import Random

import pytest
from hypothesis import given
from hypothesis import strategies as st

from synth.layout import Layout
from synth.medium import Direction
from synth.questions.problem import Problem
from synth.search.placing import asked as asked_module
from synth.search.placing import placer as placer_module
from synth.search.placing.asked import Asker, asked
from synth.search.placing.stages import Cut
from synth.search.placing.starts import PlacedStarts
from synth.search.workers.task import Reply, Task
from synth.simulator import check
from synth.spec import PinDemand, Spec
from tests.search.placing.tries import returned

PARITY = Spec.parse("q = a ^ b ^ c", stack="y", joint="buffer", width=2, delay=4)
TWO = Spec.parse("q = a & b & c; r = a & b", stack="y", joint="buffer", width=2, delay=4)


def of(spec: Spec) -> PlacedStarts:
    return PlacedStarts(Problem.of(spec)[0], spec.limits)


@cache
def cut_with(signals: int) -> Cut:
    """A cut that so many signals cross."""
    found = (*of(PARITY)._cuts, *of(TWO)._cuts)
    return next(cut for cut in found if len(cut.crossing) == signals)


def tried(starts: PlacedStarts, *, most: int = 10_000) -> list[Layout | None]:
    asker = Asker(starts.problem, lambda size: size[0] * size[1] * size[2] <= most)
    return list(islice(asked(asker, starts._cuts, starts._boxes, 0), 60))


@pytest.mark.parametrize("spec", [PARITY, TWO])
def test_starts_are_right_and_differ(spec: Spec) -> None:
    found = [layout for layout in islice(of(spec)._asked(), 12) if layout is not None]
    assert found
    assert all(check(layout, spec, delay=4).passes for layout in found)
    assert len({repr(layout) for layout in found}) == len(found)


def test_the_harder_half_comes_first_and_anything_may_work(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    tasks: list[Task] = []

    def undecided(task: Task) -> Reply:
        tasks.append(task)
        return Reply("undecided")

    monkeypatch.setattr(placer_module, "answer", undecided)
    starts = of(TWO)
    assert not any(tried(starts))
    assert all(task.signals is None for task in tasks)
    hard = set()
    for cut in starts._cuts:
        half = cut.second if cut.connections[1] >= cut.connections[0] else cut.first
        hard.add(tuple(half.outputs.items()))
    assert {tuple(task.question.spec.function.outputs.items()) for task in tasks} <= hard
    assert {task.conflicts for task in tasks} > {asked_module.SHARE}


def test_a_box_without_a_layout_is_not_asked_about_again(monkeypatch: pytest.MonkeyPatch) -> None:
    tasks: list[Task] = []

    def impossible(task: Task) -> Reply:
        tasks.append(task)
        return Reply("impossible")

    monkeypatch.setattr(placer_module, "answer", impossible)
    assert not any(tried(of(PARITY)))
    asked_for = [(task.question.spec.function, task.question.size) for task in tasks]
    assert len(asked_for) == len(set(asked_for)) > 0


def test_signals_cross_where_a_plan_says_and_what_is_ruled_out_there_is_not_asked_again(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    starts, tasks = of(TWO), list[Task]()

    def impossible(task: Task) -> Reply:
        tasks.append(task)
        return Reply("impossible")

    monkeypatch.setattr(placer_module, "answer", impossible)
    asker = Asker(starts.problem, lambda size: True)
    pair = next(asked_module._pairs(asker, starts._cuts[0], starts._boxes))
    for plan in asked_module._plans(TWO, pair, Random(0))[:3]:
        tasks.clear()
        assert not plan.is_in_vain(asker)
        assert returned(plan.tries(asker, 1, 0)) is None
        # The easier half was asked alone.
        assert [task.question.size for task in tasks] == list(pair.others)
        for task in tasks:
            pins = task.question.spec.pins
            assert tuple(pins[name].at[1:] for name in pair.cut.crossing) == plan.places
        assert plan.is_in_vain(asker)


def test_only_the_highest_boxes_are_asked_about(monkeypatch: pytest.MonkeyPatch) -> None:
    sizes = set()

    def undecided(task: Task) -> Reply:
        sizes.add(task.question.size)
        return Reply("undecided")

    monkeypatch.setattr(placer_module, "answer", undecided)
    tried(of(PARITY))
    assert {height for _, _, height in sizes} == {6}


@given(st.integers(1, 3), st.integers(2, 6), st.integers(1, 2), st.booleans())
def test_signals_cross_where_the_joints_allow_it(
    width: int, height: int, signals: int, alike: bool
) -> None:
    cut = cut_with(signals)
    faces = None if alike else (Direction.PX, Direction.PY)
    spec = TWO.replace(stack=None, pins=dict.fromkeys(TWO.pin_names, PinDemand(faces)))
    found = asked_module._crossings(spec, cut, (4, width, height))
    assert len(found) == len(set(found))
    for places in found:
        assert all(0 <= across < width and 0 < up < height for across, up in places)
        for (across, up), (other, above) in combinations(places, 2):
            assert max(abs(across - other), abs(up - above)) >= 2
    spots = product(range(width), range(1, height))
    every = {
        places
        for places in product(spots, repeat=signals)
        if all(
            max(abs(across - other), abs(up - above)) >= 2
            for (across, up), (other, above) in combinations(places, 2)
        )
    }
    if alike:
        mirrored = {tuple((width - 1 - across, up) for across, up in one) for one in found}
        in_the_middle = {one for one in found if 2 * one[0][0] == width - 1}
        assert mirrored & set(found) <= in_the_middle
        assert mirrored | set(found) == every
    else:
        assert set(found) == every


def test_halves_that_take_minutes_and_boxes_of_no_use_are_not_asked_about(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    assert tried(of(PARITY), most=12) == []
    monkeypatch.setattr(asked_module, "MOST_CLAUSES", 0)
    assert tried(of(PARITY)) == []
