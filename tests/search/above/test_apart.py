"""Slices made apart from all else: in turns that last their share of the time."""

from __future__ import annotations

import time
from collections.abc import Iterator
from typing import Any

import pytest

from synth.layout import Layout
from synth.questions.problem import Problem
from synth.search.above import apart as apart_module
from synth.search.above.apart import Apart
from synth.spec import Spec
from tests.waiting import GUARD_S

AND_SLICE = Spec.parse("co = a & ci", stack="x", chain=[("co", "ci")], joint="buffer", delay=6)


def test_without_a_chain_there_is_nothing_to_do() -> None:
    spec = Spec.parse("q = a & b", stack="x", delay=6)
    work = Apart(Problem.of(spec)[0], spec.limits, 0, time.monotonic() + GUARD_S)
    assert work.turn() is None
    assert list(work._slices) == []


def test_both_ways_hear_of_the_smallest_slice(monkeypatch: pytest.MonkeyPatch) -> None:
    heard: list[float] = []

    def along_rails(*given: Any) -> Iterator[None]:
        heard.append(given[-1]())
        yield None

    class Opened:
        def __init__(self, *given: Any) -> None:
            self.smallest = given[-1]

        def tries(self) -> Iterator[None]:
            heard.append(self.smallest())
            yield None

    monkeypatch.setattr(apart_module, "along_rails", along_rails)
    monkeypatch.setattr(apart_module, "Opened", Opened)
    work = Apart(Problem.of(AND_SLICE)[0], AND_SLICE.limits, 0, time.monotonic() + GUARD_S)
    for size in ((6, 2, 4), (5, 2, 4), (7, 2, 4)):
        work.note(Layout(size, {}))
    assert list(work._slices) == [None, None]
    assert heard == [40, 40]


@pytest.mark.parametrize(("most", "pieces"), [(False, 3), (True, 18)])
def test_a_turn_lasts_its_share_of_what_was_done_before(
    monkeypatch: pytest.MonkeyPatch, most: bool, pieces: int
) -> None:
    """Each piece of work takes a second here; three seconds of other work went before."""
    used = [0.0]
    monkeypatch.setattr(time, "process_time", lambda: used[0])
    monkeypatch.setattr(apart_module, "SHARE", 1.0)
    monkeypatch.setattr(apart_module, "SHARE_MOST", 6.0)
    monkeypatch.setattr(apart_module, "LATER_S", 10.0)
    problem = Problem.of(AND_SLICE)[0]
    work = Apart(problem, AND_SLICE.limits, 0, time.monotonic() + GUARD_S, most=most)
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
    work = Apart(Problem.of(AND_SLICE)[0], AND_SLICE.limits, 0, time.monotonic() - 1.0)
    work._turn_ended -= 1000.0
    assert work.turn() is None
