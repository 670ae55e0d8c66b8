"""Lines are kept lit, and nothing is painted over."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from synth.composing.canvas import Canvas, Unbuildable, restorers
from synth.medium import LEDGE, SOLID, WIRE, Rules


@given(
    st.lists(st.booleans(), min_size=1, max_size=60),
    st.integers(1, 9),
    st.integers(1, 9),
    st.integers(0, 2),
)
def test_every_wire_of_a_line_is_lit(may: list[bool], start: int, reach: int, spare: int) -> None:
    try:
        chosen = restorers(may, start, reach, spare)
    except Unbuildable:
        return
    strength = start
    for index, allowed in enumerate(may):
        if index in chosen:
            assert allowed
            assert 0 < index < len(may) - 1
            assert index - 1 not in chosen
            strength = reach
        else:
            assert strength >= 1
            strength -= 1
    assert strength >= spare


@given(st.integers(2, 60), st.integers(2, 9))
def test_a_line_that_may_break_anywhere_can_be_as_long_as_it_likes(cells: int, reach: int) -> None:
    assert len(restorers([True] * cells, reach, reach)) <= cells // reach


def test_a_solid_takes_the_place_of_a_ledge_and_nothing_else() -> None:
    canvas = Canvas(Rules())
    canvas.put((0, 0, 0), LEDGE)
    canvas.put((0, 0, 0), SOLID)
    canvas.put((0, 0, 0), LEDGE)
    assert canvas.cells[(0, 0, 0)] == SOLID
    with pytest.raises(Unbuildable):
        canvas.put((0, 0, 0), WIRE)
