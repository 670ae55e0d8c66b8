"""The bound on the delay of links: what slices have is never below it, and it can be had."""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from synth.bounds import least_link_delay
from synth.composing import compose
from synth.layout import Layout
from synth.medium import ChainLink
from synth.search import solve
from synth.simulator import check
from synth.spec import BooleanFunction, Spec, StackDemand
from synth.spec.targets import load_target

CASES = {
    "o = a": 0,
    "o = i": 1,
    "o = a | i": 1,
    "o = ~i": 2,
    "o = ~(a & i)": 2,
    "o = a & i": 3,
    "o = a ^ i": 3,
    "o = a & b | i & (a | b)": 3,
}


@pytest.mark.parametrize(("text", "ticks"), CASES.items())
def test_the_bound_of_simple_links(text: str, ticks: int) -> None:
    spec = Spec.parse(text if "i" in text else f"{text}; q = i", stack="x", chain=[("o", "i")])
    bound = least_link_delay(spec)
    assert bound.ticks == ticks
    assert bool(bound.reason) is (ticks > 0)


def test_dont_cares_ask_for_nothing() -> None:
    chain = StackDemand("x", chain=(ChainLink("o", "i"),))
    spec = Spec(BooleanFunction(("a", "i"), {"o": "01-1"}), stack=chain)
    assert least_link_delay(spec).ticks == 1


def test_each_link_counts_after_the_inputs_of_all() -> None:
    spec = load_target("greater-than-down-slice")
    assert least_link_delay(spec).ticks == 3


@settings(max_examples=25)
@given(st.text("01-", min_size=8, max_size=8), st.sampled_from([1, 2]))
def test_no_slice_that_is_made_has_less(column: str, links: int) -> None:
    names = ("a", "i", "j")
    chain = (ChainLink("o", "i"), ChainLink("p", "j"))[:links]
    outputs = {"o": column, "p": column[::-1]}
    function = BooleanFunction(names, dict(list(outputs.items())[:links]))
    spec = Spec(function, stack=StackDemand("x", chain=chain))
    made = compose(spec)
    assert made.best is not None
    assert made.best.verdict is not None
    link = made.best.verdict.link_delay
    assert link is not None
    assert link >= least_link_delay(spec).ticks


def test_a_slice_has_no_more() -> None:
    layout = Layout.load(Path(__file__).resolve().parents[1] / "data" / "and_slice.json")
    verdict = check(layout)
    assert verdict.link_delay == 3
    turned = Spec.parse(
        "o = ~i", stack="x", chain=[("o", "i")], length=3, width=1, height=3, delay=3
    )
    found = solve(turned, minimize=["link"])
    assert found.verdict is not None
    assert found.verdict.link_delay == 2
