"""Placed starts are right and keep the limits: whole, in stages from either end, in chains."""

from __future__ import annotations

import pytest

from synth.layout import Layout
from synth.questions.measures import keeps
from synth.questions.problem import Problem
from synth.search.placing import starts
from synth.search.placing.halves import Halves
from synth.search.placing.placer import Placer
from synth.search.placing.starts import PlacedStarts
from synth.search.placing.turns import Tries
from synth.simulator import check
from synth.spec import Limits, Spec
from tests.search.placing.tries import returned

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
    for spec in (late, fixed):
        assert list(of(spec).tries()) == []
    # A stricter question has tries of this one, and may go on for long.
    bare = PlacedStarts(Problem.of(many)[0], many.limits, also_stricter=False)
    assert list(bare.tries()) == []


def test_a_start_is_made_anew_from_one_of_its_halves(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    placing = of(AND_3)
    asked = []

    def stub(placer: Placer, halves: Halves, share: int, seeds: tuple[int, int]) -> Tries:
        asked.append(seeds)
        return None
        yield

    monkeypatch.setattr(starts, "WAYS", (stub, stub))
    for tries in placing._all_staged(1):
        assert returned(tries) is None
    assert len(asked) == len(set(asked)) * 2 * len(placing._cuts)
    halves = {seed for _, seed in asked}
    assert len(halves) == len(asked) // (2 * len(placing._cuts))
