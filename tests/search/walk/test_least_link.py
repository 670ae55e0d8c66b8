"""The least delay of links as a measure: a limit that is made less until nothing is left."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from synth.errors import InputError
from synth.questions.journal import Journal
from synth.questions.outcome import Outcome, Status
from synth.questions.problem import Problem
from synth.questions.statistics import Statistics
from synth.search import solve
from synth.search.walk.least_link import least_link, without_search
from synth.search.walk.searching import search
from synth.search.workers.settings import Settings
from synth.spec import Spec
from tests.waiting import Clock

OR_SLICE = Spec.parse(
    "co = a | ci",
    stack="x",
    chain=[("co", "ci")],
    joint="buffer",
    length=3,
    width=1,
    height=3,
    delay=3,
)
"""A wire and the buffer of the link do it: one tick is the least."""


@pytest.mark.parametrize("measures", [("link",), ("link", "volume"), ("volume", "link")])
def test_the_least_link_delay_is_found_and_less_is_ruled_out(measures: tuple[str, ...]) -> None:
    found = solve(OR_SLICE, minimize=measures)
    assert found.status is Status.FOUND
    assert found.verdict is not None
    assert found.verdict.link_delay == 1
    assert found.layout is not None
    assert "that takes the buffer of the link" in found.claim
    assert found.measures == measures
    assert found.best == found.bound
    if "volume" in measures:
        assert found.layout.volume == 4
    order = [found.claim.index(f"smallest by {name}") for name in measures]
    assert order == sorted(order)


def test_without_a_chain_there_is_no_such_measure() -> None:
    with pytest.raises(InputError, match="no chain"):
        solve(Spec.parse("q = a"), minimize=["link"])


def test_what_is_about_single_boxes_is_not_kept(tmp_path: Path) -> None:
    with pytest.raises(InputError, match="a certificate cannot be kept"):
        solve(OR_SLICE, minimize=["link"], certificate=tmp_path / "proof")
    journal = Journal({}, tmp_path / "answers.jsonl")
    with pytest.raises(InputError, match="a file to go on from cannot be kept"):
        solve(OR_SLICE, minimize=["link"], journal=journal)
    assert not list(tmp_path.iterdir())


def answered(link: int, status: Status = Status.FOUND) -> Outcome:
    """An answer whose layout has that link delay, or none."""
    if status is Status.IMPOSSIBLE:
        return Outcome(status, reason=f"no layout, link delay at most {link}")
    found = solve(OR_SLICE)
    assert found.verdict is not None
    return replace(
        found, status=status, claim="smallest", verdict=replace(found.verdict, link_delay=link)
    )


def test_a_tick_less_is_asked_until_none_is_left() -> None:
    asked: list[int | None] = []

    def search(problem: Problem, seconds: float | None, known: Journal) -> Outcome:
        limit = problem.limits.link_delay
        asked.append(limit)
        if limit is not None and limit < 4:
            return answered(limit, Status.IMPOSSIBLE)
        return answered(6 if limit is None else 4)

    problem, _ = Problem.of(OR_SLICE, ("link", "volume"))
    ended = least_link(problem, search)
    assert asked == [None, 5, 3]
    assert (ended.status, ended.best, ended.bound) == (Status.FOUND, 4, 4)
    assert ended.claim == (
        "smallest by link 4: no layout, link delay at most 3; after that, smallest"
    )


def test_the_time_of_all_searches_is_told(clock: Clock) -> None:
    """Three searches of seven seconds each; each outcome tells of its own alone."""
    layouts = {limit: answered(limit) for limit in (6, 4)}

    def search(problem: Problem, seconds: float | None, known: Journal) -> Outcome:
        clock.now += 7
        limit = problem.limits.link_delay
        if limit is not None and limit < 4:
            return Outcome(Status.IMPOSSIBLE, reason="none")
        return layouts[6 if limit is None else 4]

    problem, _ = Problem.of(OR_SLICE, ("link", "volume"))
    assert least_link(problem, search).stats.seconds == pytest.approx(21)


def test_a_tick_less_that_stays_open_is_said() -> None:
    def search(problem: Problem, seconds: float | None, known: Journal) -> Outcome:
        if problem.limits.link_delay is None:
            return answered(3)
        return Outcome(Status.UNDECIDED, reason="the time was up")

    problem, _ = Problem.of(OR_SLICE, ("link",))
    ended = least_link(problem, search)
    assert (ended.status, ended.best, ended.bound, ended.claim) == (Status.UNDECIDED, 3, 1, "")
    assert ended.reason == "link 3 so far; whether less is possible is open: the time was up"


def test_what_is_impossible_anyway_says_so() -> None:
    narrow = Spec.parse(
        "co = a & ci",
        stack="x",
        chain=[("co", "ci")],
        joint="buffer",
        length=2,
        width=1,
        height=2,
        delay=1,
    )
    ended = solve(narrow, minimize=["link", "volume"])
    assert (ended.status, ended.layout) == (Status.IMPOSSIBLE, None)


def test_without_a_layout_the_whole_time_is_used(clock: Clock) -> None:
    """The first search has a share; as long as it finds nothing, the rest is for finding."""
    given: list[float | None] = []

    def search(problem: Problem, seconds: float | None, known: Journal) -> Outcome:
        given.append(seconds)
        clock.now += seconds or 0.0
        return Outcome(Status.UNDECIDED, reason="nothing yet", stats=Statistics(bound=15))

    problem = replace(Problem.of(OR_SLICE)[0], measures=("link", "volume"))
    found = least_link(problem, search, time_limit_s=30)
    assert given == pytest.approx([9.0, 21.0])
    assert found.status is Status.UNDECIDED
    assert found.bound == 1  # Of the delay of links, not of the volume.
    assert "no slice has a link delay below 1 tick" in found.reason
    assert "nothing yet" in found.reason


def test_a_limit_below_the_least_link_delay_needs_no_search() -> None:
    adder = Spec.parse(
        "s = a ^ b ^ ci; co = a & b | ci & (a | b)",
        stack="x",
        chain=[("co", "ci")],
        joint="buffer",
        link_delay=2,
    )
    found = solve(adder)
    assert found.status is Status.IMPOSSIBLE
    assert "no slice has a link delay below 3 ticks" in found.reason
    assert found.advice == ("a link delay of 3 ticks is the least that is not ruled out",)
    assert without_search(Problem.of(OR_SLICE)[0]) is None


@pytest.mark.parametrize("shared", [True, False])
def test_a_reason_tells_a_share_of_the_time_from_the_limit_asked(shared: bool) -> None:
    parity = Spec.parse("q = a ^ b ^ c", delay=4, width=2, stack="y", joint="buffer")
    problem = Problem.of(parity)[0]
    found = search(problem, Settings(workers=1), time_limit_s=0.0, shared=shared)
    assert found.status is Status.UNDECIDED
    said = "its share of the time, 0 seconds, was used up"
    assert found.reason.startswith(said if shared else "the time limit of 0 seconds was reached")
