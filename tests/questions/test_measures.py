"""Measures, boxes and the order in which they are tried."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from synth.errors import InputError
from synth.questions.box import BoxQuestion
from synth.questions.measures import MEASURES, boxes, in_order, parse_measures
from synth.spec import Limits

sides = st.integers(1, 5)
measure_lists = st.lists(st.sampled_from(MEASURES), min_size=1, unique=True).map(tuple)


@given(st.tuples(sides, sides, sides), st.integers(1, 60), st.integers(1, 20))
def test_boxes_are_all_boxes_within_the_limits(
    size: tuple[int, int, int], volume: int, floor: int
) -> None:
    length, width, height = size
    found = list(boxes(Limits(length, width, height, volume, floor)))
    assert len(found) == len(set(found))
    every = {
        (x, y, z)
        for x in range(1, length + 1)
        for y in range(1, width + 1)
        for z in range(1, height + 1)
        if x * y * z <= volume and x * y <= floor
    }
    assert set(found) == every


def test_fixed_cells_leave_one_box() -> None:
    assert list(boxes(Limits(3, 2, 4), exactly=True)) == [(3, 2, 4)]


@given(st.lists(st.tuples(sides, sides, sides), unique=True), measure_lists)
def test_candidates_come_by_the_measures_in_order(
    sizes: list[tuple[int, int, int]], measures: tuple[str, ...]
) -> None:
    candidates = [BoxQuestion(size, delay) for size in sizes for delay in range(3)]
    ordered = in_order(candidates, measures)
    assert sorted(ordered) == sorted(candidates)
    deciding = [name for name in measures if name != "parts"]
    keys = [tuple(candidate.measure(name) for name in deciding) for candidate in ordered]
    assert keys == sorted(keys)
    assert in_order(reversed(candidates), measures) == ordered


def test_measures_are_read_once_each() -> None:
    assert parse_measures(["volume", "delay", "volume"]) == ("volume", "delay")


@pytest.mark.parametrize(
    ("names", "message"),
    [(["volumes"], "no measure 'volumes'; did you mean volume"), ([], "no measure to minimise")],
)
def test_what_is_no_measure_is_refused(names: list[str], message: str) -> None:
    with pytest.raises(InputError, match=message):
        parse_measures(names)


def test_measures_may_be_one_text() -> None:
    assert parse_measures("volume") == ("volume",)
    assert parse_measures("delay,volume") == ("delay", "volume")
    with pytest.raises(InputError, match="no measure 'volme'; did you mean volume"):
        parse_measures("volme")
