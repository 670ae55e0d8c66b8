"""Folded sheets: lanes are shared only where that is sound, and the layouts are right."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise
from random import Random

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from benchmarks.from_above import segments
from synth.composing import compose
from synth.composing.canvas import Unbuildable
from synth.composing.compose import Draft, judged
from synth.composing.constructions import CONSTRUCTIONS, Construction
from synth.composing.folded import FlatSheet, FoldedSheet
from synth.composing.folding import PITCH, Folding, Form, Lane, folded
from synth.composing.network import networks_of
from synth.composing.order import Order, Side
from synth.composing.strands import Strands
from synth.medium import DEFAULT_RULES, Direction, Joint, Part, Rules
from synth.simulator import check
from synth.spec import BooleanFunction, Spec
from synth.spec.spec import PinDemand, StackDemand
from tests.composing.specs import function_of, random_function
from tests.reading.plain import verdict

FOLDED = tuple(item for item in CONSTRUCTIONS if item.name in ("folded sheet", "flat sheet"))
OTHERS = tuple(item for item in CONSTRUCTIONS if item not in FOLDED)
FACES = ((Direction.NX,), (Direction.PX,), (Direction.NX, Direction.PX))


@st.composite
def functions(draw: st.DrawFn, most_inputs: int = 5, most_outputs: int = 5) -> BooleanFunction:
    """Functions of some inputs and outputs, with don't-cares."""
    inputs = draw(st.integers(1, most_inputs))
    rows = 1 << inputs
    texts = st.text(draw(st.sampled_from(("01", "01-", "0001"))), min_size=rows, max_size=rows)
    return function_of(inputs, *draw(st.lists(texts, min_size=1, max_size=most_outputs)))


@st.composite
def specs(draw: st.DrawFn) -> Spec:
    """The same with sides, joints and stacking."""
    function = draw(functions())
    pins = {
        name: PinDemand(draw(st.sampled_from(FACES)), None, draw(st.sampled_from(list(Joint))))
        for name in (*function.inputs, *function.outputs)
    }
    axis = draw(st.sampled_from((None, "y", "z")))
    return Spec(function, pins=pins, stack=None if axis is None else StackDemand(axis, None))


def order_of(function: BooleanFunction, *, free: bool, stack: str | None = None) -> Order:
    """An order with inputs on the left and outputs on the right, or with free sides."""
    names = (*function.inputs, *function.outputs)
    sides = {name: Side.LEFT if name in function.inputs else Side.RIGHT for name in names}
    return Order(
        networks_of(function)[0],
        sides,
        dict.fromkeys(names, Joint.BUFFER),
        DEFAULT_RULES,
        stack=stack,
        options={name: (side, side.other) for name, side in sides.items()} if free else {},
    )


@settings(max_examples=25)
@given(specs(), st.sampled_from((DEFAULT_RULES, Rules(reach=9), Rules(buffer_delays=(2, 3)))))
def test_whatever_is_painted_is_right(spec: Spec, rules: Rules) -> None:
    for construction in FOLDED:
        composed = compose(spec, rules=rules, constructions=(construction,))
        for attempt in composed.attempts:
            assert not attempt.reason.startswith("rejected"), (construction.name, attempt.reason)


@settings(max_examples=60)
@given(functions(), st.booleans(), st.sampled_from((FoldedSheet.form, FlatSheet.form)))
def test_strands_of_one_lane_lie_end_to_end(
    function: BooleanFunction, free: bool, form: Form
) -> None:
    order = order_of(function, free=free)
    try:
        strands, made = folded(order, form)
    except Unbuildable:
        return  # It is left to the other constructions.
    for lanes, its in ((made.inputs, strands.inputs), (made.outputs, strands.outputs)):
        names = sorted(strand.name for lane in lanes for strand, _ in lane)
        assert names == sorted(strand.name for strand in its)
        for lane in lanes:
            assert all(side in strand.sides for strand, side in lane)
            assert_end_to_end(lane, made)
    assert_columns_apart(strands, made)


def assert_end_to_end(lane: Lane, made: Folding) -> None:
    """Asserts that two strands of a lane come from both sides and touch no column in common."""
    if len(lane) > 1:
        (left, on_the_left), (right, on_the_right) = lane
        assert (on_the_left, on_the_right) == (Side.LEFT, Side.RIGHT)
        last = max(made.places[number] for number in left.columns)
        assert last < min(made.places[number] for number in right.columns)


def assert_columns_apart(strands: Strands, made: Folding) -> None:
    """Asserts that columns lie as far apart as wires and inverters between them need."""
    assert sorted(made.products) == list(range(len(strands.products)))
    for one, other in pairwise(made.products):
        assert made.places[other] - made.places[one] == PITCH
    assert 0 <= made.places[made.products[0]] <= made.places[made.products[-1]] <= made.end


@settings(max_examples=12)
@given(functions(most_inputs=3, most_outputs=2), st.sampled_from(FOLDED), st.booleans())
def test_the_plain_reading_agrees(
    function: BooleanFunction, construction: Construction, stacked: bool
) -> None:
    spec = Spec(function, stack=StackDemand("y", None) if stacked else None)
    composed = compose(spec, constructions=(construction,))
    if composed.layout is None or composed.verdict is None:
        return  # It is left to the other constructions.
    delay = composed.verdict.delay
    plain = verdict(composed.layout, function.outputs, DEFAULT_RULES, asked=delay)
    assert plain.legal
    assert plain.function
    assert plain.delay == delay
    assert plain.stacks == (True if stacked else None)


def test_products_without_inputs_in_common_share_lanes() -> None:
    function = Spec.parse("q = a & b & c | d & e & f").function
    free = folded(order_of(function, free=True), FlatSheet.form)[1]
    assert len(free.inputs) == 3
    bound = folded(order_of(function, free=False), FlatSheet.form)[1]
    assert len(bound.inputs) == 6


def test_an_input_and_its_complement_have_one_lane() -> None:
    function = Spec.parse("q = a ^ b ^ c; r = a & ~b").function
    made = folded(order_of(function, free=False), FoldedSheet.form)[1]
    assert len(made.inputs) == 3


@pytest.mark.parametrize("seed", range(12))
def test_nothing_gets_larger(seed: int) -> None:
    rng = Random(seed)
    function = random_function(rng, rng.choice((3, 4)), rng.choice((1, 2, 3)))
    spec = Spec(function, stack=StackDemand("y", None) if seed % 2 else None)
    mine, its = compose(spec), compose(spec, constructions=OTHERS)
    assert mine.layout is not None
    assert its.layout is not None
    assert mine.layout.volume <= its.layout.volume


@pytest.mark.parametrize("construction", FOLDED, ids=lambda item: item.name)
def test_every_inverter_is_needed(construction: Construction) -> None:
    spec = Spec.parse("q = a & ~b | ~a & c; r = b & ~c", stack="y", joint="buffer")
    layout = compose(spec, constructions=(construction,)).layout
    assert layout is not None
    for cell, block in layout.cells.items():
        if block.part is Part.INVERTER:
            broken = layout.with_cells({cell: None})
            assert not judged(Draft("broken", "", broken), spec, DEFAULT_RULES).right


def test_the_seven_segments_start_from_less_than_a_thousand_cells() -> None:
    """Complements of some outputs share products, and outputs leave on both sides."""
    composed = compose(segments())
    assert composed.layout is not None
    assert check(composed.layout, composed.spec).passes
    assert composed.layout.volume < 1000


def test_the_networks_that_promise_least_room_are_painted() -> None:
    function = Spec.parse("p = a | b | c & d; q = a | b & d; r = ~(a & c)").function
    orders = [
        replace(order_of(function, free=False), network=network)
        for network in networks_of(function)
    ]
    (construction,) = (item for item in FOLDED if item.name == "folded sheet")
    assert construction.rate is not None
    chosen = construction.chosen(orders)
    assert 0 < len(chosen) < len(orders)
    rates = [construction.rate(order) for order in orders]
    assert [construction.rate(order) for order in chosen] == sorted(rates)[: len(chosen)]


def test_a_column_that_reads_directly_still_does_when_its_lane_is_read_otherwise() -> None:
    function = function_of(2, "0010", "0001", "0011", "0010")
    faces = {"q0": Direction.PX, "q1": Direction.PX}
    pins = {
        name: PinDemand((faces.get(name, Direction.NX),), None, Joint.WIRE)
        for name in (*function.inputs, *function.outputs)
    }
    for construction in FOLDED:
        composed = compose(Spec(function, pins=pins), constructions=(construction,))
        assert composed.layout is not None
        assert not any(item.reason.startswith("rejected") for item in composed.attempts)
