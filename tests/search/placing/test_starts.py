"""Placed starts are right and keep the limits: whole, in stages from either end, in chains."""

from __future__ import annotations

import pytest

from synth.layout import Layout
from synth.questions.measures import keeps
from synth.questions.problem import Problem
from synth.search.placing import starts
from synth.search.placing.stages import cuts
from synth.search.placing.starts import PlacedStarts
from synth.search.placing.turns import Tries
from synth.search.workers.task import Reply, Task
from synth.simulator import check
from synth.spec import Limits, Spec

AND_3 = Spec.parse("q = a & b & c", stack="y", joint="buffer", width=2, delay=4)
"""Of three inputs, so that it can be cut, and soon placed."""


def of(spec: Spec) -> PlacedStarts:
    return PlacedStarts(Problem.of(spec)[0], spec.limits)


def first(placing: PlacedStarts) -> Layout | None:
    return next((found for found in placing.tries() if found is not None), None)


def test_a_start_is_right_and_keeps_the_limits() -> None:
    for spec in (AND_3, AND_3.replace(limits=Limits(length=6, width=2, height=4, delay=3))):
        found = first(of(spec))
        assert found is not None
        assert check(found, spec, delay=spec.limits.delay).passes
        assert keeps(found, spec.limits.delay, spec.limits)


def test_stages_are_placed_from_either_end() -> None:
    placing = of(AND_3)
    cut = cuts(AND_3.function, 4)[0]
    for way in (placing._first_then_second, placing._second_then_first):
        found = _last(way(cut, 4_000, (0, 0)))
        assert found is not None
        assert check(found, AND_3, delay=4).passes


def _last(tries: Tries) -> Layout | None:
    while True:
        try:
            next(tries)
        except StopIteration as end:
            found: Layout | None = end.value
            return found


@pytest.mark.parametrize("axis", ["x", "y"])
def test_a_slice_is_placed_with_the_pins_of_its_links_opposite_each_other(axis: str) -> None:
    across = {"x": {"width": 2}, "y": {"length": 2}}[axis]
    spec = Spec.parse(
        "co = ci & a", stack=axis, chain=[("co", "ci")], joint="buffer", delay=4, **across
    )
    found = first(of(spec))
    assert found is not None
    assert check(found, spec, delay=4).passes
    pins = {pin.name: pin for pin in found.pins}
    assert pins["co"].face is pins["ci"].face.opposite


def test_what_is_too_large_to_be_of_use_is_not_placed() -> None:
    placing = of(AND_3)
    placing.most = 12
    assert list(placing.tries()) == []


def test_what_no_network_or_box_can_be_found_for_has_no_start() -> None:
    late = AND_3.replace(limits=Limits(width=2, delay=0))
    many = Spec.parse("q = a & b & c & d & e & f", stack="x", delay=6)
    fixed = AND_3.replace(empty=frozenset({(0, 0, 0)}))
    for spec in (late, many, fixed):
        assert list(of(spec).tries()) == []


def test_a_start_is_made_anew_from_one_of_its_halves(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    placing = of(AND_3)
    asked = []

    def stub(cut: object, share: int, seeds: tuple[int, int]) -> Tries:
        asked.append(seeds)
        return None
        yield

    monkeypatch.setattr(placing, "_first_then_second", stub)
    monkeypatch.setattr(placing, "_second_then_first", stub)
    for tries in placing._all_staged(1):
        assert _last(tries) is None
    assert len(asked) == len(set(asked)) * 2 * len(placing._cuts)
    halves = {seed for _, seed in asked}
    assert len(halves) == len(asked) // (2 * len(placing._cuts))


def test_a_half_is_not_asked_again_with_no_more_conflicts(monkeypatch: pytest.MonkeyPatch) -> None:
    placing, asked = of(AND_3), []

    def undecided(task: Task) -> Reply:
        asked.append(task)
        return Reply("undecided")

    monkeypatch.setattr(starts, "answer", undecided)
    cut = placing._cuts[0]
    assert _last(placing._first_then_second(cut, 100, (0, 0))) is None
    once = len(asked)
    assert _last(placing._first_then_second(cut, 100, (0, 2))) is None
    assert len(asked) == once > 0
    assert _last(placing._first_then_second(cut, 200, (0, 2))) is None
    assert len(asked) == 2 * once
