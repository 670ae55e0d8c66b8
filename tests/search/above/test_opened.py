"""Slices made of open layouts, in turns: right, within limits, and none where there is no chain."""

from __future__ import annotations

import time
from collections.abc import Callable, Iterator

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


def of(spec: Spec) -> Opened:
    return Opened(Problem.of(spec)[0], spec.limits, 0, time.monotonic() + GUARD_S)


def slices(work: Opened, most: int = 400) -> list[Layout]:
    """Slices in order, each told as the process that shrinks them does."""
    found = []
    for _ in range(most):
        made = next(work._slices, None)
        if made is not None:
            work.note(made)
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
    assert work.turn() is None
    assert list(work._slices) == []


@pytest.mark.parametrize(("most", "pieces"), [(False, 3), (True, 18)])
def test_a_turn_lasts_its_share_of_what_was_done_before(
    monkeypatch: pytest.MonkeyPatch, most: bool, pieces: int
) -> None:
    """Each piece of work takes a second here; three seconds of other work went before."""
    used = [0.0]
    monkeypatch.setattr(time, "process_time", lambda: used[0])
    monkeypatch.setattr(opened_module, "SHARE", 1.0)
    monkeypatch.setattr(opened_module, "SHARE_MOST", 6.0)
    monkeypatch.setattr(opened_module, "LATER_S", 10.0)
    problem = Problem.of(AND_SLICE)[0]
    work = Opened(problem, AND_SLICE.limits, 0, time.monotonic() + GUARD_S, most=most)
    done = []

    def endless() -> Iterator[None]:
        while True:
            used[0] += 1.0
            done.append(used[0])
            yield None

    work._slices = endless()
    used[0] += 3.0
    assert work.turn() is None
    assert len(done) == pieces
    assert work.turn() is None
    assert len(done) == pieces
    used[0] += 7.0  # All else has had ten seconds now, whatever it was before.
    assert work.turn() is None
    assert len(done) == pieces + 42


def test_time_that_is_over_ends_a_turn() -> None:
    work = Opened(Problem.of(AND_SLICE)[0], AND_SLICE.limits, 0, time.monotonic() - 1.0)
    work._turn_ended -= 1000.0
    assert work.turn() is None


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
    work = of(AND_SLICE)
    work.note(Layout((6, 2, 5), {}))
    work._used_s = 100.0
    for size in ((6, 2, 4), (6, 2, 4), (7, 2, 4)):
        work._gained = Layout(size, {})
        assert all(found is None for found in work._closed(4))
    # The last one is larger than those before it, and not closed at all.
    assert asked == [[True, True, True], [True, False, False]]
