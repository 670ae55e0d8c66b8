"""Rounds and turns of placing: cheap rounds come most often, and no way waits for another."""

from __future__ import annotations

import math
from collections.abc import Iterator
from itertools import islice, repeat

import pytest

from synth.questions.problem import Problem
from synth.search.placing.starts import PlacedStarts
from synth.search.placing.turns import (
    Tries,
    Way,
    counted,
    found_within,
    in_turns,
    share_of_round,
)
from synth.spec import Spec
from tests.stored import stored_layout


def test_cheap_rounds_come_most_often() -> None:
    shares = [share_of_round(number) for number in range(1, 16)]
    assert shares == [1, 1, 2, 1, 1, 2, 4, 1, 1, 2, 1, 1, 2, 4, 8]


def test_questions_are_counted() -> None:
    def tries() -> Tries:
        yield from repeat(None, 3)
        return None

    counting = counted(tries())
    assert [next(counting) for _ in range(3)] == [None] * 3
    with pytest.raises(StopIteration) as end:
        next(counting)
    assert end.value.value == (None, 3)


def test_tries_go_on_until_one_finds_something_or_the_time_is_up() -> None:
    layout = stored_layout("nor2")
    tries = iter([None, layout, None])
    assert found_within(tries, 0.0, math.inf) is None
    assert found_within(tries, math.inf, -math.inf) is None
    assert found_within(tries, math.inf, math.inf) is layout
    assert found_within(tries, math.inf, math.inf) is None


def test_a_way_that_is_over_leaves_the_others_their_turns() -> None:
    found = list(islice(in_turns([Way(iter([None])), Way(iter([None] * 4), 3)]), 9))
    assert found == [None] * 5


def test_a_way_that_waits_has_its_turn_when_the_others_are_over() -> None:
    begun: list[str] = []

    def way(name: str) -> Iterator[None]:
        for _ in range(2):
            begun.append(name)
            yield None

    list(in_turns([Way(way("late"), after_s=3_600.0), Way(way("first"))]))
    assert begun == ["first", "first", "late", "late"]


def test_rounds_end_where_nothing_is_left_to_ask() -> None:
    low = Spec.parse("q = a ^ b", stack="y", joint="buffer", width=2, height=1, length=3, delay=3)
    placing = PlacedStarts(Problem.of(low)[0], low.limits)
    assert all(found is None for found in placing.tries())
    assert placing.rounds > 0
