"""What a memory holds is not searched again, and what it says is held against what is found."""

from __future__ import annotations

from dataclasses import replace

import pytest

from synth.errors import InputError
from synth.questions.events import BoxEnded
from synth.questions.problem import Problem
from synth.search import Outcome, Status
from synth.search.frontier.frontier import Survey, frontier
from tests.search.frontier.gates import (
    GATE,
    SETTINGS,
    Log,
    copied,
    shown,
    values_of,
)


def test_a_memory_spares_all_that_it_holds() -> None:
    first, notes = copied()
    assert first.stats["remembered"] == 0
    log = Log()
    again = frontier(GATE, settings=SETTINGS, memory=notes, reporter=log)
    assert again.stats["remembered"] == again.stats["searches"] == len(notes.kept)
    assert not log.asked
    assert again.stats["questions"] == 0
    assert (again.steps, again.points) == (first.steps, first.points)


def test_boxes_ruled_out_are_remembered_too() -> None:
    first, notes = copied()
    notes.kept.clear()
    log = Log()
    again = frontier(GATE, settings=SETTINGS, memory=notes, reporter=log)
    assert shown(again) == shown(first)
    answers = {event.answer for event in log.events if isinstance(event, BoxEnded)}
    assert answers <= {"found", "dropped"}


def test_what_a_memory_says_of_boxes_serves_other_steps() -> None:
    """The smallest within 3 ticks is remembered: nothing smaller is asked about within fewer."""
    whole, notes = copied()
    top = notes.key(Problem(GATE, ("floor",)))
    notes.kept = {top: notes.kept[top]}
    notes.boxes.clear()
    log = Log()
    again = frontier(GATE, settings=SETTINGS, memory=notes, reporter=log)
    assert shown(again) == shown(whole)
    least, first = values_of(whole)[-1]
    verdict = notes.kept[top].verdict
    assert verdict is not None
    # Unless the layout remembered is as fast as any, faster ones of its floor are asked about.
    assert bool(log.asked) == (verdict.delay is None or verdict.delay > first)
    assert all(size[0] * size[1] >= least for size, _ in log.asked)


def test_what_is_undecided_is_remembered_as_far_as_it_is_known() -> None:
    whole, notes = copied()
    for key, outcome in notes.kept.items():
        stats = replace(outcome.stats, bound=1)
        notes.kept[key] = replace(outcome, status=Status.UNDECIDED, stats=stats)
    again = frontier(GATE, settings=SETTINGS, memory=notes)
    assert shown(again) == shown(whole)
    assert again.stats["remembered"] == 0


def test_a_memory_that_is_at_odds_with_what_is_found_is_an_error() -> None:
    _, notes = copied()
    top = notes.key(Problem(GATE, ("floor",)))
    outcome = notes.kept[top]
    notes.kept[top] = Outcome(Status.IMPOSSIBLE, reason="made up")
    assert frontier(GATE, settings=SETTINGS, memory=notes).status is Status.IMPOSSIBLE
    # Of a search within fewer ticks it says found: both cannot be.
    survey = Survey(GATE, memory=notes, settings=SETTINGS)
    survey._note(outcome, 2)
    with pytest.raises(InputError, match="contradict"):
        survey._note(notes.kept[top], 3)
