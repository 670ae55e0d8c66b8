"""A taller box holds every lower one, where ``covers_lower`` says so."""

from __future__ import annotations

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from synth.layout import Layout
from synth.questions.box import BoxQuestion
from synth.questions.cover import covers, covers_lower
from synth.questions.problem import Problem
from synth.simulator import check, legality
from synth.spec import Limits, Spec, StackDemand
from tests.reading.random_layouts import legal_layouts


def taller(layout: Layout, by: int) -> Layout:
    """The same parts in a box with empty levels on top."""
    length, width, height = layout.size
    return layout.replace(size=(length, width, height + by))


@given(
    st.booleans().flatmap(lambda stack: legal_layouts((3, 3, 3), stack=stack)), st.integers(1, 3)
)
def test_empty_levels_on_top_change_no_verdict(layout: Layout, by: int) -> None:
    assume(layout.stack is None or layout.stack.axis != "z")
    higher = taller(layout, by)
    assert not legality(higher)
    assert check(higher) == check(layout)


@pytest.mark.parametrize(
    ("asked", "holds"),
    [
        ({}, True),
        ({"ground": True}, True),
        ({"stack": "x"}, True),
        ({"stack": "y", "pitch": 3}, True),
        ({"stack": "z"}, False),
    ],
)
def test_where_it_holds(asked: dict[str, object], holds: bool) -> None:
    spec = Spec.parse("q = ~a", length=2, width=2, height=3, delay=1, **asked)
    assert covers_lower(Problem(spec)) is holds


def test_a_no_covers_lower_boxes_of_the_same_floor() -> None:
    problem = Problem(Spec.parse("q = ~a", length=3, width=2, height=4, delay=2, stack="y"))
    answer = BoxQuestion((3, 2, 4), 2)
    assert covers(problem, answer, BoxQuestion((3, 2, 2), 2))
    assert covers(problem, answer, BoxQuestion((3, 2, 3), 1, 5))
    assert not covers(problem, answer, BoxQuestion((3, 2, 5), 2))
    assert not covers(problem, answer, BoxQuestion((2, 2, 4), 2))
    assert not covers(problem, answer, BoxQuestion((3, 1, 2), 2))
    assert not covers(problem, answer._replace(parts=3), BoxQuestion((3, 2, 2), 2))
    upwards = Problem(problem.spec.replace(stack=StackDemand("z")))
    assert not covers(upwards, answer, BoxQuestion((3, 2, 2), 2))


def test_cells_named_one_by_one_stand_in_one_box() -> None:
    spec = Spec.parse("q = ~a").replace(limits=Limits(2, 2, 3, delay=1))
    assert not covers_lower(Problem(spec.replace(empty=frozenset({(0, 0, 0)}))))
