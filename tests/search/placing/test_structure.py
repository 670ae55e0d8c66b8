"""Structure first: an upper bound that the simulator passes, the same in every run."""

from __future__ import annotations

import time
from typing import Any

import pytest

from synth.questions.box import BoxQuestion
from synth.questions.events import BestImproved, BoxStarted, Placing
from synth.questions.measures import boxes, in_order
from synth.questions.outcome import Status
from synth.questions.problem import Problem
from synth.search import solve
from synth.search.placing.structure import StructureFirst
from synth.search.workers.crew import Crew
from synth.search.workers.judged import Found
from synth.search.workers.settings import Settings
from synth.simulator import check
from synth.spec import Limits, Spec
from tests.waiting import Log


def candidates(spec: Spec) -> list[BoxQuestion]:
    delay = spec.limits.delay or 0
    return in_order((BoxQuestion(size, delay) for size in boxes(spec.limits)), ("volume",))


def placed(
    spec: Spec,
    workers: int = 1,
    shares: tuple[int, ...] = (4_000,),
    until: float | None = None,
    solver: str = "cadical195",
) -> tuple[BoxQuestion, Found] | None:
    settings = Settings(solver, workers=workers)
    with Crew(workers) as crew:
        return StructureFirst(Problem(spec), settings, crew, until).run(candidates(spec), shares)


AND_NOT = Spec.parse("q = a & ~b", length=3, width=2, height=4, delay=2, stack="y")


def test_what_is_placed_passes_and_is_no_smaller_than_the_smallest() -> None:
    found = placed(AND_NOT)
    assert found is not None
    candidate, layout = found[0], found[1].layout
    assert check(layout, AND_NOT, delay=2).passes
    assert layout.size == candidate.size
    smallest = solve(AND_NOT, workers=1)
    assert smallest.layout is not None
    assert candidate.measure("volume") >= BoxQuestion(smallest.layout.size, 2).measure("volume")


def test_the_number_of_workers_makes_no_difference() -> None:
    one, two = placed(AND_NOT, 1), placed(AND_NOT, 2)
    assert one is not None
    assert two is not None
    assert one[0] == two[0]
    assert one[1].layout == two[1].layout


def test_an_exclusive_or_is_placed_within_seconds_of_solving() -> None:
    """Within a share of conflicts that takes seconds."""
    spec = Spec.parse("q = a ^ b", length=5, width=2, height=5, delay=2, stack="y")
    spec = spec.replace(limits=Limits(length=5, width=2, height=5, delay=2))
    settings = Settings("cadical195", workers=2)
    with Crew(2) as crew:
        found = StructureFirst(Problem(spec), settings, crew).run(
            [BoxQuestion((4, 2, 4), 2)], (64_000,)
        )
    assert found is not None
    assert check(found[1].layout, spec, delay=2).passes


def test_nothing_is_placed_where_no_network_is_fast_enough() -> None:
    assert placed(Spec.parse("q = a ^ b", length=3, width=2, height=3, delay=1)) is None


def test_a_solver_without_a_budget_is_not_asked() -> None:
    assert placed(AND_NOT, solver="lingeling") is None


def test_time_that_is_over_ends_it() -> None:
    assert placed(AND_NOT, until=time.monotonic() - 1) is None


def test_a_search_with_a_time_limit_starts_from_what_is_placed(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr("synth.search.walk.first_layout.TOO_LARGE", 0)
    watcher = Log()
    options: dict[str, Any] = {"without": ("above",), "fewest_parts": False}
    outcome = solve(AND_NOT, workers=1, time_limit_s=1e4, reporter=watcher, **options)
    assert outcome.status is Status.FOUND
    kinds = [type(event) for event in watcher.events]
    assert Placing in kinds
    first_box = kinds.index(BoxStarted)
    assert BestImproved in kinds[:first_box]
    asked = [event.size for event in watcher.events if isinstance(event, BoxStarted)]
    assert outcome.layout is not None
    # Its own box need not be asked about any more; the smaller ones must be.
    assert outcome.layout.size not in asked
    assert "smallest by volume 12" in outcome.claim


@pytest.mark.parametrize("without", [(), ("above",), ("structure",), ("above", "structure")])
def test_with_and_without_it_the_answer_is_the_same(
    without: tuple[str, ...], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("synth.search.walk.first_layout.TOO_LARGE", 0)
    outcome = solve(AND_NOT, workers=1, time_limit_s=1e4, without=without)
    assert outcome.layout is not None
    assert outcome.layout.size == (2, 2, 3)


def test_what_is_placed_beside_the_walk_does_not_hold_it_up(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr("synth.search.walk.first_layout.TOO_LARGE", 0)
    watcher = Log()
    assert solve(AND_NOT, workers=1, time_limit_s=1e4, reporter=watcher).status is Status.FOUND
    assert not any(isinstance(event, Placing) for event in watcher.events)


def test_what_is_small_enough_to_be_asked_whole_is_not_placed() -> None:
    watcher = Log()
    alone: dict[str, Any] = {"without": ("above",), "time_limit_s": 1e4}
    assert solve(AND_NOT, workers=1, reporter=watcher, **alone).status is Status.FOUND
    assert not any(isinstance(event, Placing) for event in watcher.events)


def test_without_a_time_limit_or_when_parts_come_first_it_is_left_out(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr("synth.search.walk.first_layout.TOO_LARGE", 0)
    for arguments in ({}, {"time_limit_s": 1e4, "minimize": ("parts",)}):
        watcher = Log()
        solve(
            Spec.parse("q = ~a", length=1, width=1, height=2, delay=1),
            workers=1,
            reporter=watcher,
            **arguments,  # type: ignore[arg-type]
        )
        assert not any(isinstance(event, Placing) for event in watcher.events)
