"""The quick sheet: two ticks for every function of three inputs that stands alone."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from synth.composing import compose
from synth.composing.canvas import Unbuildable
from synth.composing.constructions import Construction
from synth.composing.network import networks_of
from synth.composing.order import Order, Side
from synth.composing.quick import QuickSheet
from synth.medium import DEFAULT_RULES, Joint
from synth.spec import BooleanFunction, Limits, PinDemand, Spec
from tests.reading.plain import verdict

ALONE = (Construction("quick sheet", lambda order: QuickSheet(order).layout()),)

TWO_PRODUCTS_AND_MORE = ("00010110", "01101001", "10010110", "01101011", "11101001", "10011110")


def spec_of(column: str, joint: Joint) -> Spec:
    function = BooleanFunction(("a", "b", "c"), {"q": column})
    pins = {name: PinDemand(joint=joint) for name in ("a", "b", "c", "q")}
    return Spec(function, limits=Limits(delay=2), pins=pins)


@settings(max_examples=20)
@given(st.integers(0, 255), st.sampled_from(list(Joint)))
def test_every_function_of_three_inputs_has_two_ticks(number: int, joint: Joint) -> None:
    """Standing alone; constants and single inputs by other constructions."""
    made = compose(spec_of(format(number, "08b"), joint))
    assert made.verdict is not None
    assert made.verdict.passes
    assert (made.verdict.delay or 0) <= 2


@pytest.mark.parametrize("column", TWO_PRODUCTS_AND_MORE)
@pytest.mark.parametrize("joint", list(Joint))
def test_it_is_quick_by_itself(column: str, joint: Joint) -> None:
    made = compose(spec_of(column, joint), constructions=ALONE)
    assert made.best is not None
    assert made.best.construction == "quick sheet"
    assert made.best.measure("delay") == 2
    assert made.layout is not None
    plain = verdict(made.layout, {"q": column})
    assert (plain.legal, plain.function, plain.delay) == (True, True, 2)


def order_of(column: str, **more: object) -> Order:
    function = BooleanFunction(("a", "b", "c"), {"q": column})
    sides = dict.fromkeys("abc", Side.LEFT) | {"q": Side.RIGHT}
    joints = dict.fromkeys("abcq", Joint.BUFFER)
    return Order(networks_of(function)[0], sides, joints, DEFAULT_RULES, **more)  # type: ignore


def test_it_does_not_stack() -> None:
    with pytest.raises(Unbuildable, match="stands alone"):
        QuickSheet(order_of("01101001", stack="y")).layout()


def test_what_wires_do_not_reach_is_refused() -> None:
    function = BooleanFunction(tuple("abcde"), {"q": "01101001100101101001011001101001"})
    order = Order(
        networks_of(function)[0],
        dict.fromkeys("abcde", Side.LEFT) | {"q": Side.RIGHT},
        dict.fromkeys("abcdeq", Joint.BUFFER),
        DEFAULT_RULES,
    )
    with pytest.raises(Unbuildable):
        QuickSheet(order).layout()
