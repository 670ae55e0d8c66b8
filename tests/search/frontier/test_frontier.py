"""Frontiers: what they must equal, what no point of one may do, and what is never asked twice."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from dataclasses import replace
from itertools import pairwise, product
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

import synth.search.frontier.frontier as module
from synth.encoding import Question
from synth.errors import InputError
from synth.layout import Layout
from synth.medium import Size
from synth.questions.box import BoxQuestion
from synth.questions.events import BoxEnded
from synth.questions.measures import MEASURES, boxes, measured
from synth.questions.problem import Problem
from synth.questions.statistics import Statistics
from synth.search import Outcome, Status, solve
from synth.search.frontier.curve import Standing, Step
from synth.search.frontier.document import frontier_document
from synth.search.frontier.frontier import Frontier, StepSearch, Survey, frontier
from synth.search.workers.settings import Settings
from synth.search.workers.task import Task, answer
from synth.simulator import check
from synth.simulator.verdict import Verdict
from synth.spec import Spec
from tests.search.frontier.gates import (
    GATE,
    SETTINGS,
    Log,
    Notes,
    Pairs,
    answered,
    shown,
    values_of,
)
from tests.waiting import Clock, RunsOut

TINY: dict[str, Any] = {"length": 2, "width": 1, "height": 3, "delay": 3}


def undominated(pairs: set[tuple[int, int]]) -> Pairs:
    """By definition, with nothing clever: those that no other is as good as in both."""
    return sorted(
        (
            pair
            for pair in pairs
            if not any(
                other != pair and other[0] <= pair[0] and other[1] <= pair[1] for other in pairs
            )
        ),
        key=lambda pair: pair[1],
    )


def each(steps: Iterable[Step]) -> dict[int, Step]:
    """The step of every value of the second measure."""
    return {value: step for step in steps for value in range(step.first, step.last + 1)}


def require_sound(found: Frontier) -> None:
    """What holds of any frontier, complete or not."""
    for before, after in pairwise(found.points):
        assert before.first < after.first
        assert (before.value or 0) > (after.value or 0)
    for left, right in pairwise(found.steps):
        assert left.last + 1 == right.first
        assert (left.standing, left.known, left.bound) != (right.standing, right.known, right.bound)
    for step in found.steps:
        assert (step.known is None) is (step.standing in (Standing.OPEN, Standing.NONE))
        assert (step.bound is None) is (step.standing is Standing.NONE)
        if step.known is None:
            continue
        assert step.known.verdict.passes
        assert step.known.at <= step.first
        assert step.bound is not None
        assert step.bound <= step.known.value
        assert (step.bound == step.known.value) is (step.standing is Standing.SMALLEST)
        layout, delay = step.known.layout, step.known.verdict.delay
        values = [measured(layout, delay, name) for name in found.axes]
        assert values == [step.known.value, step.known.at]
    reached = [(step.value or 0, step.first) for step in found.points]
    for value, step in each(found.steps).items():
        assert step.value == min((m for m, n in reached if n <= value), default=None)


def require_between(found: Frontier, truth: dict[int, int | None]) -> None:
    """No bound above and no best below what is so, at every value of the second measure."""
    for value, step in each(found.steps).items():
        least = truth[value]
        if least is None:
            assert step.value is None
            continue
        assert step.bound is not None
        assert step.bound <= least
        assert step.value is None or step.value >= least


def has_layout(spec: Spec, size: Size, delay: int) -> bool:
    """One question, answered in this process; the simulator judges what is found."""
    reply = answer(Task(Question(spec, size, delay), "cadical195"))
    assert reply.answer in ("found", "impossible")
    return reply.layout is not None and check(reply.layout, spec, delay=delay).passes


@pytest.fixture(scope="module")
def answers() -> dict[str, dict[BoxQuestion, bool]]:
    """Of some functions, whether each tiny box has a layout within each delay."""
    table = {}
    for text in ("q = ~a", "q = a", "q = ~a; r = a"):
        spec = Spec.parse(text, joint="buffer", **TINY)
        table[text] = {
            BoxQuestion(size, delay): has_layout(spec, size, delay)
            for size in boxes(spec.limits)
            for delay in range(TINY["delay"] + 1)
        }
    return table


@pytest.mark.parametrize("text", ["q = ~a", "q = a", "q = ~a; r = a"])
@pytest.mark.parametrize(
    "axes", [("floor", "delay"), ("volume", "delay"), ("height", "length"), ("delay", "volume")]
)
def test_it_is_what_asking_every_box_and_delay_gives(
    text: str, axes: tuple[str, str], answers: dict[str, dict[BoxQuestion, bool]]
) -> None:
    possible = {
        (item.measure(axes[0]), item.measure(axes[1]))
        for item, found in answers[text].items()
        if found
    }
    spec = Spec.parse(text, joint="buffer", **TINY)
    found = frontier(spec, axes=axes, settings=SETTINGS)
    require_sound(found)
    assert found.complete
    assert values_of(found) == undominated(possible)
    assert found.status is (Status.FOUND if possible else Status.IMPOSSIBLE)
    for value, step in each(found.steps).items():
        assert step.value == min((m for m, n in possible if n <= value), default=None)


@pytest.mark.parametrize("axes", [("volume", "parts"), ("parts", "height"), ("parts", "delay")])
def test_parts_are_held_against_other_measures(axes: tuple[str, str]) -> None:
    """Both ways round it is the same frontier, and its ends are what ``solve`` finds alone."""
    spec = Spec.parse("q = ~a; r = a", length=2, width=2, height=2, delay=3)
    one = frontier(spec, axes=axes, settings=SETTINGS)
    other = frontier(spec, axes=reversed(axes), settings=SETTINGS)
    for found in (one, other):
        require_sound(found)
        assert found.status is Status.FOUND
    assert values_of(one) == sorted((pair[::-1] for pair in values_of(other)), key=lambda p: p[1])
    for index, measure in enumerate(axes):
        alone = solve(spec, minimize=[measure], workers=1)
        assert alone.layout is not None
        assert alone.verdict is not None
        least = min(pair[index] for pair in values_of(one))
        assert measured(alone.layout, alone.verdict.delay, measure) == least


def test_no_box_is_asked_about_twice() -> None:
    log = Log()
    found = frontier(GATE, settings=SETTINGS, reporter=log)
    assert found.complete
    assert max(log.asked.values()) == 1
    assert found.stats["questions"] == sum(log.asked.values())
    # Of each box one "no" at the most is needed, that at the latest tick where it counts.
    noes = Counter(
        event.size
        for event in log.events
        if isinstance(event, BoxEnded) and event.answer == "impossible"
    )
    assert set(noes.values()) == {1}


def test_every_search_is_told() -> None:
    told: list[StepSearch] = []
    found = frontier(GATE, settings=SETTINGS, watcher=told.append)
    assert len(told) == 2 * int(found.stats["searches"])
    for begun, ended in pairwise(told[:2]):
        assert begun.outcome is None
        assert ended.outcome is not None
        assert begun.at == ended.at == ended.spec.limits.delay


def test_the_same_whatever_the_number_of_workers() -> None:
    one, _ = answered()
    two = frontier(GATE, settings=Settings(workers=2))
    assert [step.known for step in one.points] == [step.known for step in two.points]
    assert one.steps == two.steps


@pytest.mark.parametrize("stop_after", [1, 3, 5])
def test_an_interrupt_leaves_what_is_known(stop_after: int) -> None:
    whole, _ = answered()
    notes = Notes()
    survey = Survey(GATE, memory=notes, settings=SETTINGS, reporter=Log(stop_after))
    with pytest.raises(KeyboardInterrupt):
        survey.run()
    found = survey.frontier()
    require_sound(found)
    assert found.status is Status.UNDECIDED
    require_between(found, {value: step.value for value, step in each(whole.steps).items()})
    # What was answered is not asked again.
    log = Log()
    again = frontier(GATE, settings=SETTINGS, memory=notes, reporter=log)
    assert shown(again) == shown(whole)
    assert sum(log.asked.values()) < int(whole.stats["questions"])


def test_an_interrupt_leaves_the_bound_that_was_proven() -> None:
    survey = Survey(GATE, settings=SETTINGS, reporter=Log(5))
    with pytest.raises(KeyboardInterrupt):
        survey.run()
    assert {step.bound for step in survey.frontier().steps} != {1}


def test_a_time_limit_leaves_bounds(clock: Clock) -> None:
    spec = Spec.parse("q = a ^ b ^ c ^ d", length=4, width=3, height=4, delay=4)
    settings = replace(SETTINGS, without=("structure", "above"))
    found = frontier(spec, settings=settings, time_limit_s=3.0, reporter=RunsOut(clock, 9))
    require_sound(found)
    assert found.status is Status.UNDECIDED
    assert not found.complete
    assert {step.bound for step in found.steps} != {1}


def test_no_layout_at_all() -> None:
    spec = Spec.parse("q = a ^ b", length=2, width=1, height=2, delay=2)
    found = frontier(spec, settings=SETTINGS)
    assert found.status is Status.IMPOSSIBLE
    assert found.points == ()
    assert shown(found) == [(0, 2, Standing.NONE, None, None)]


def test_what_is_left_open_is_assumed_and_said() -> None:
    survey = Survey(Spec.parse("q = a"))
    assert survey.assumed == (
        "length at most 6 cells",
        "width at most 4 cells",
        "height at most 5 cells",
        "delay at most 3 ticks",
        "a time limit of 600 seconds",
    )
    assert survey.time_limit_s == 600


@pytest.mark.parametrize(
    ("axes", "words"),
    [
        (("floor",), "two different measures"),
        (("floor", "floor"), "two different measures"),
        (("floor", "delay", "parts"), "two different measures"),
        (("floor", "dealy"), "did you mean delay"),
        ((), "no measure"),
    ],
)
def test_axes_that_cannot_be_used(axes: tuple[str, ...], words: str) -> None:
    with pytest.raises(InputError, match=words):
        frontier(GATE, axes=axes)


def test_given_cells_leave_one_box() -> None:
    spec = Spec.parse("q = ~a", length=2, width=1, height=2, delay=1).replace(
        empty=frozenset({(0, 0, 1)})
    )
    with pytest.raises(InputError, match="only one length"):
        frontier(spec, axes=("height", "length"))
    assert frontier(spec, axes=("parts", "delay"), settings=SETTINGS).complete


def test_the_document_says_all_of_it() -> None:
    found, _ = answered()
    files = {step.first: f"delay-{step.first}.json" for step in found.points}
    document = frontier_document(found, files)
    assert (document["format"], document["version"]) == ("gatefit-frontier", 1)
    assert document["axes"] == ["floor", "delay"]
    assert document["complete"] is True
    assert [(row["from"], row["to"]) for row in document["steps"]] == [
        (step.first, step.last) for step in found.steps
    ]
    for row, step in zip(document["steps"], found.steps, strict=True):
        assert row["status"] == str(step.standing)
        if step.known is None:
            assert (row["layout"], row["file"], row["value"]) == (None, None, None)
        else:
            assert Layout.from_document(row["layout"]) == step.known.layout
            assert row["file"] == files[step.first]


class Oracle:
    """Stands in for the search: a made-up world in which some boxes have layouts from some tick.

    Every now and then it does not decide, and then may show a layout that is not the smallest.
    """

    def __init__(self, world: dict[Size, int], measure: str, moods: list[int]) -> None:
        self.world = world
        self.measure = measure
        self.moods = moods
        self.calls = 0

    def __call__(self, problem: Problem, settings: Settings, **options: Any) -> Outcome:
        mood = self.moods[self.calls % len(self.moods)] if self.moods else 0
        self.calls += 1
        limits = problem.limits
        within = set(boxes(limits))
        found = [
            (BoxQuestion(size, delay).measure(self.measure), size, delay)
            for size, delay in sorted(self.world.items())
            if size in within and limits.delay is not None and delay <= limits.delay
        ]
        found.sort(key=lambda item: item[0])
        if mood == 1:
            return Outcome(Status.UNDECIDED)
        if mood == 2 and found:
            return self._outcome(Status.UNDECIDED, found[-1], bound=found[0][0])
        if not found:
            return Outcome(Status.IMPOSSIBLE)
        return self._outcome(Status.FOUND, found[0])

    def _outcome(
        self, status: Status, item: tuple[int, Size, int], bound: int | None = None
    ) -> Outcome:
        _, size, delay = item
        verdict = Verdict(True, True, delay, None, {}, ())
        return Outcome(status, Layout(size, {}), verdict, stats=Statistics(bound=bound))


SIZES = list(product(range(1, 4), range(1, 3), range(1, 4)))
WORLDS = st.dictionaries(st.sampled_from(SIZES), st.integers(0, 4), max_size=8)
AXES = st.permutations([name for name in MEASURES if name != "parts"]).map(lambda names: names[:2])


@given(
    WORLDS, AXES, st.lists(st.sampled_from([0, 0, 1, 2]), max_size=5), st.sampled_from([None, 999])
)
def test_made_up_worlds(
    world: dict[Size, int], axes: list[str], moods: list[int], time_limit_s: float | None
) -> None:
    """Decided always: the frontier of the world. Not always: nothing is said that is not so."""
    spec = Spec.parse("q = a", length=3, width=2, height=3, delay=4)
    pairs = {
        (BoxQuestion(size, delay).measure(axes[0]), BoxQuestion(size, delay).measure(axes[1]))
        for size, delay in world.items()
    }
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(module, "search", Oracle(world, axes[0], moods))
        found = frontier(spec, axes=axes, time_limit_s=time_limit_s)
    require_sound(found)
    if not any(moods):
        assert values_of(found) == undominated(pairs)
        assert found.complete
    for value, step in each(found.steps).items():
        least = min((m for m, n in pairs if n <= value), default=None)
        require_between(replace(found, steps=(replace(step, first=value, last=value),)),
                        {value: least})  # fmt: skip
        assert step.standing is not Standing.SMALLEST or step.value == least


def test_a_refused_layout_ends_it(monkeypatch: pytest.MonkeyPatch) -> None:
    refused = Outcome(Status.REFUSED, Layout((1, 1, 1), {}), reason="the simulator rejects it")
    monkeypatch.setattr(module, "search", lambda problem, settings, **options: refused)
    notes = Notes()
    found = frontier(GATE, memory=notes)
    assert found.status is Status.REFUSED
    assert found.refused is refused
    assert not found.points
    assert not notes.kept


CHAINED = Spec.parse(
    "co = a | ci", stack="x", chain="co:ci", length=2, width=1, height=2, delay=2, joint="buffer"
)


def test_volume_against_the_delay_of_links() -> None:
    """A wire and a buffer: one tick after the link, and no sooner."""
    found = frontier(CHAINED, axes=("volume", "link"), time_limit_s=None)
    assert found.complete
    (point,) = found.points
    assert (point.first, point.value) == (1, 4)
    assert found.steps[0].standing is Standing.NONE
    assert point.known is not None
    assert point.known.verdict.link_delay == 1


def test_links_need_a_chain_and_stand_second() -> None:
    with pytest.raises(InputError, match="the specification has no chain"):
        frontier(Spec.parse("q = a", delay=1), axes=("volume", "link"))
    with pytest.raises(InputError, match="no measure 'link'"):
        frontier(CHAINED, axes=("link", "volume"))
