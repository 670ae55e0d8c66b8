"""Covers by products, and the signals of one product."""

from __future__ import annotations

from functools import reduce
from operator import or_

import pytest
from hypothesis import given
from hypothesis import strategies as st

from synth.encoding.placing.signals import Origin
from synth.search.placing.products import covers, product_signals, rows_of

COLUMNS = st.integers(1, 3).flatmap(
    lambda inputs: st.text("01-", min_size=1 << inputs, max_size=1 << inputs)
)


@given(COLUMNS)
def test_a_cover_is_on_where_it_must_be_and_off_where_it_must_be(column: str) -> None:
    inputs = (len(column) - 1).bit_length()
    for cover in covers(column):
        on = reduce(or_, (rows_of(one, inputs) for one in cover), 0)
        for row, value in enumerate(column):
            assert value == "-" or bool(on >> row & 1) == (value == "1")


@given(COLUMNS)
def test_every_product_is_needed_and_no_literal_can_go(column: str) -> None:
    inputs = (len(column) - 1).bit_length()
    ones = {row for row, value in enumerate(column) if value == "1"}
    zeros = {row for row, value in enumerate(column) if value == "0"}

    def on(products: tuple[tuple[tuple[int, bool], ...], ...]) -> set[int]:
        rows = reduce(or_, (rows_of(one, inputs) for one in products), 0)
        return {row for row in range(1 << inputs) if rows >> row & 1}

    for cover in covers(column):
        for one in cover:
            assert not ones <= on(tuple(other for other in cover if other != one))
            for literal in one:
                wider = tuple(other for other in one if other != literal)
                assert on((wider,)) & zeros


@pytest.mark.parametrize(
    ("column", "products"),
    [("0000", 0), ("1111", 1), ("0110", 2), ("00010111", 3), ("01101001", 4), ("0--1", 1)],
)
def test_covers_have_the_fewest_products(column: str, products: int) -> None:
    found = covers(column)
    assert {len(cover) for cover in found} == ({products} if products else set())


def test_the_product_of_a_literal_and_a_complement_has_two_ticks_for_each_or_one() -> None:
    rows, every = {"a": 0b1100, "b": 0b1010}, 0b1111
    made = list(product_signals({"a": True, "b": False}, rows, every, 0, 3))
    assert made[-1].rows == rows["a"] & ~rows["b"]
    assert made[-1].tick == 3
    heard = {signal.rows for signal in made if signal.tick == 2}
    assert heard == {every & ~rows["a"], rows["b"]}
    assert {signal.origin for signal in made if signal.tick == 2} == {
        Origin.BUFFER,
        Origin.INVERTER,
    }
    assert {signal.tick for signal in product_signals({"a": True}, rows, every, 1, 3)} == {2, 3}
