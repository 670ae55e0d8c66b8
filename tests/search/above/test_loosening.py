"""Limits that were only assumed are widened to what a start has; the user's own are kept."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from synth.composing import compose
from synth.layout import Layout
from synth.questions.problem import Problem
from synth.search.above.loosening import loosened
from synth.spec import Limits, Spec
from synth.spec.spec import MAX_SIZE

PROBLEM = Problem.of(Spec.parse("q = a & ~b", delay=9))[0]
COMPOSED = compose(PROBLEM.spec.replace(limits=Limits(delay=9))).best


def longer(cells: int) -> Layout:
    """A right layout with so many empty cells at its end."""
    assert COMPOSED is not None
    assert COMPOSED.layout is not None
    length, width, height = COMPOSED.layout.size
    return COMPOSED.layout.replace(size=(length + cells, width, height))


@given(st.integers(0, 100), st.booleans())
def test_assumed_limits_are_widened_and_own_ones_are_not(cells: int, own: bool) -> None:
    start = longer(cells)
    kept = Limits(length=PROBLEM.limits.length) if own else Limits()
    found = loosened(PROBLEM, kept, start)
    if own:
        assert found.length == PROBLEM.limits.length
    else:
        assert found.length is None or found.length >= start.length
        assert (found.length is None) == (start.length > MAX_SIZE)
    assert found.delay == PROBLEM.limits.delay
