"""Rows of inputs are read right, with as few turns and direct readings as any way has."""

from __future__ import annotations

import contextlib
from itertools import product

import pytest
from hypothesis import given
from hypothesis import strategies as st

from synth.composing.canvas import Unbuildable
from synth.composing.crossings import DIRECT, TURN, Crossing, crossings

Reads = list[tuple[int, bool]]


@st.composite
def rows(draw: st.DrawFn) -> Reads:
    """Columns that read a row from the left, two cells apart or more."""
    steps = draw(st.lists(st.tuples(st.integers(1, 3), st.booleans()), min_size=1, max_size=6))
    x, reads = draw(st.integers(-2, 2)), []
    for step, wanted in steps:
        x = max(0, x + 2 * step)
        reads.append((x, wanted))
    return reads


def fits(reads: Reads, way: list[Crossing], edge: int) -> bool:
    """Whether there is room for a way of reading, and it gives every column what it wants."""
    state, before = True, edge
    for number, ((x, wanted), crossing) in enumerate(zip(reads, way, strict=True)):
        state = state is not crossing.turned
        needed = (TURN + (number > 0)) * crossing.turned + DIRECT * crossing.direct
        if abs(x - before) < needed or (state is wanted) is crossing.direct:
            return False
        before = x
    return True


def cost(way: list[Crossing]) -> int:
    return sum(crossing.turned + crossing.direct for crossing in way)


@given(rows())
def test_no_way_has_fewer(reads: Reads) -> None:
    least = 2 * len(reads) + 1
    with contextlib.suppress(Unbuildable):
        found = list(crossings(reads, 0))
        assert fits(reads, found, 0)
        least = cost(found)
    for bits in product((False, True), repeat=2 * len(reads)):
        if sum(bits) < least:
            way = [Crossing(x, *bits[2 * n : 2 * n + 2]) for n, (x, _) in enumerate(reads)]
            assert not fits(reads, way, 0)


@given(rows(), st.integers(0, 5))
def test_columns_that_have_to_read_directly_do(reads: Reads, which: int) -> None:
    x = reads[which % len(reads)][0]
    try:
        found = list(crossings(reads, 0, {x}))
    except Unbuildable:
        return
    assert fits(reads, found, 0)
    assert next(item for item in found if item.x == x).direct


def test_signals_from_the_right_are_read_alike() -> None:
    reads = [(0, True), (2, False), (4, False), (8, True)]
    mirrored = [(10 - x, wanted) for x, wanted in reads]
    ways = crossings(reads, 0), crossings(mirrored, 10)
    assert [(item.turned, item.direct) for item in ways[0]] == [
        (item.turned, item.direct) for item in ways[1]
    ]


def test_a_complement_at_the_pin_has_no_room() -> None:
    with pytest.raises(Unbuildable):
        crossings([(0, False)], 0)
    with pytest.raises(Unbuildable):
        crossings([(2, False), (3, True)], 0, {3})
