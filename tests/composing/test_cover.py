"""Two-level covers are covers, and their products are implicants."""

from __future__ import annotations

from hypothesis import given, settings
from hypothesis import strategies as st

from synth.composing.cover import Goal, Product, cover_goals, covers, input_rows, primes
from synth.composing.network import networks_of
from synth.spec import Spec
from tests.composing.specs import function_of

columns = st.integers(0, 6).flatmap(
    lambda inputs: st.tuples(
        st.just(inputs),
        st.lists(
            st.text("01-", min_size=1 << inputs, max_size=1 << inputs), min_size=1, max_size=4
        ),
    )
)


def _union(products: tuple[Product, ...], inputs: int) -> int:
    rows = 0
    for item in products:
        rows |= item.rows(inputs)
    return rows


@settings(max_examples=150, deadline=None)
@given(columns)
def test_a_cover_is_on_where_it_must_be_and_nowhere_else(drawn: tuple[int, list[str]]) -> None:
    inputs, texts = drawn
    function = function_of(inputs, *texts)
    cover = covers(function)
    for name, column in function.outputs.items():
        goal = Goal.of(column)
        for item in cover[name]:
            assert not item.rows(inputs) & ~goal.allowed
        assert not goal.ones & ~_union(cover[name], inputs)


@settings(max_examples=60, deadline=None)
@given(columns)
def test_no_product_of_a_cover_can_go(drawn: tuple[int, list[str]]) -> None:
    inputs, texts = drawn
    function = function_of(inputs, *texts)
    for name, products in covers(function).items():
        for item in products:
            rest = tuple(other for other in products if other != item)
            assert Goal.of(function.outputs[name]).ones & ~_union(rest, inputs)


@settings(max_examples=60, deadline=None)
@given(
    st.integers(0, 5).flatmap(lambda n: st.tuples(st.just(n), st.integers(0, (1 << (1 << n)) - 1)))
)
def test_primes_are_exactly_the_largest_implicants(drawn: tuple[int, int]) -> None:
    inputs, allowed = drawn
    implicants = {
        Product(care, value)
        for care in range(1 << inputs)
        for value in range(1 << inputs)
        if not value & ~care and not Product(care, value).rows(inputs) & ~allowed
    }
    largest = {
        item
        for item in implicants
        if not any(
            other != item and not item.rows(inputs) & ~other.rows(inputs) for other in implicants
        )
    }
    assert primes(inputs, allowed) == largest


def test_a_shared_product_counts_once() -> None:
    # a & b & c is no prime of the first output, but serves both.
    goals = {"p": Goal(0b10001000, 0), "q": Goal(0b10100000, 0)}
    cover = cover_goals(3, goals)
    assert len({item for products in cover.values() for item in products}) <= 3


def test_input_rows_count_from_the_most_significant_input() -> None:
    assert input_rows(2, 0) == 0b1100
    assert input_rows(2, 1) == 0b1010


@settings(max_examples=80, deadline=None)
@given(columns)
def test_every_network_computes_its_function(drawn: tuple[int, list[str]]) -> None:
    inputs, texts = drawn
    function = function_of(inputs, *texts)
    for network in networks_of(function):
        on = network.columns()
        for name, column in function.outputs.items():
            goal = Goal.of(column)
            assert not goal.ones & ~on[name]
            assert not on[name] & ~goal.allowed


def test_outputs_are_complements_where_that_saves_products() -> None:
    function = Spec.parse("p = a & b & c; q = ~(a & b & c) & d; r = ~(a & b & c) | d").function
    plain = covers(function)
    fewest = min(len(network.products) for network in networks_of(function))
    assert fewest < len({item for products in plain.values() for item in products})
