"""Slices made of open layouts: right, within limits, and none where there is no chain."""

from __future__ import annotations

import math
import time
from collections.abc import Callable
from itertools import islice

import pytest

from synth.layout import Layout
from synth.medium import Size
from synth.questions.problem import Problem
from synth.search.above import opened as opened_module
from synth.search.above.opened import Opened
from synth.search.placing.turns import Tries
from synth.simulator import check
from synth.spec import Limits, Spec
from tests.waiting import GUARD_S

AND_SLICE = Spec.parse("co = a & ci", stack="x", chain=[("co", "ci")], joint="buffer", delay=6)

Fits = Callable[[Size], bool]


def of(spec: Spec, smallest: float = math.inf) -> Opened:
    deadline = time.monotonic() + GUARD_S
    return Opened(Problem.of(spec)[0], spec.limits, 0, deadline, lambda: smallest)


def slices(work: Opened, most: int = 400) -> list[Layout]:
    found = []
    for made in islice(work.tries(), most):
        if made is not None:
            found.append(made)
        if len(found) == 2:
            break
    return found


def test_slices_are_right() -> None:
    found = slices(of(AND_SLICE))
    assert found
    for layout in found:
        verdict = check(layout, AND_SLICE)
        assert verdict.passes, verdict.faults


def test_limits_of_the_user_are_kept(monkeypatch: pytest.MonkeyPatch) -> None:
    work = of(AND_SLICE.replace(limits=Limits(delay=6, length=7, height=4)))
    asked: list[bool] = []

    def chained(layout: Layout, _1: object, _2: object, fits: Fits, ticks: int) -> Tries:
        asked.extend(fits(size) for size in ((7, 2, 4), (8, 2, 3), (5, 2, 5)))
        yield
        return None

    monkeypatch.setattr(opened_module, "chained", chained)
    work._gained = Layout((6, 2, 4), {})
    assert all(found is None for found in work._closed(4))
    assert asked == [True, False, False]


def test_without_a_chain_there_is_nothing_to_do() -> None:
    work = of(Spec.parse("q = a & b", stack="x", delay=6))
    assert list(work.tries()) == []


def test_of_layouts_as_large_as_one_before_only_a_smaller_slice_is_wanted(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    asked: list[list[bool]] = []
    boxes = [(5, 2, 5), (6, 2, 5), (7, 2, 5)]

    def chained(layout: Layout, _1: object, _2: object, fits: Fits, ticks: int) -> Tries:
        asked.append([fits(size) for size in boxes])
        yield
        return None

    monkeypatch.setattr(opened_module, "chained", chained)
    work = of(AND_SLICE, smallest=60)
    work._used_s = 100.0
    for size in ((6, 2, 4), (6, 2, 4), (7, 2, 4)):
        work._gained = Layout(size, {})
        assert all(found is None for found in work._closed(4))
    # The last one is larger than those before it, and not closed at all.
    assert asked == [[True, True, True], [True, False, False]]
