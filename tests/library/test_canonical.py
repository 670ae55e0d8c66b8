"""Keys: equal for equal questions, whatever names and order of inputs, and for no others."""

from __future__ import annotations

import json
import random
from dataclasses import replace
from itertools import permutations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from synth.library import Canonical, Store
from synth.library.canonical import function_key, reordered, same_orders
from synth.medium import Direction, Joint, Rules
from synth.questions.candidates import assumed_limits
from synth.questions.problem import Problem
from synth.simulator import check
from synth.spec import BooleanFunction, Limits, Spec, StackDemand
from tests.library.answers import VOLUME, pins_asked
from tests.spec.strategies import functions, specs


def disguised(spec: Spec, order: tuple[int, ...], names: tuple[str, ...]) -> Spec:
    """The same question with its inputs in another order and all pins renamed."""
    function = reordered(spec.function, order)
    old = (*function.inputs, *function.outputs)
    new = dict(zip(old, names, strict=True))
    return spec.replace(
        function=BooleanFunction(
            tuple(new[name] for name in function.inputs),
            {new[name]: column for name, column in function.outputs.items()},
        ),
        pins={new[name]: spec.pins[name] for name in old},
        name="disguised",
        description="",
    )


def a_disguise(draw: st.DrawFn, spec: Spec) -> Spec:
    order = tuple(draw(st.permutations(range(len(spec.function.inputs)))))
    names = tuple(f"n{number}" for number in draw(st.permutations(range(len(spec.pin_names)))))
    return disguised(spec, order, names)


@given(specs(), st.data())
def test_a_disguised_question_has_the_same_key(spec: Spec, data: st.DataObject) -> None:
    other = data.draw(st.composite(a_disguise)(spec))
    first, second = (
        Canonical.of(Problem(spec, VOLUME))[0],
        Canonical.of(Problem(other, VOLUME))[0],
    )
    assert first.key == second.key
    assert first.box_key == second.box_key
    assert function_key(spec.function) == function_key(other.function)


@given(functions(max_outputs=2), functions(max_outputs=2))
def test_functions_have_one_key_only_if_an_order_makes_them_one(
    first: BooleanFunction, second: BooleanFunction
) -> None:
    """Against all orders, tried one by one."""
    alike = len(first.inputs) == len(second.inputs) and any(
        tuple(reordered(first, order).outputs.values()) == tuple(second.outputs.values())
        for order in permutations(range(len(first.inputs)))
    )
    assert (function_key(first) == function_key(second)) is alike


@given(functions(), st.data())
def test_same_orders_are_all_orders_that_give_the_columns(
    function: BooleanFunction, data: st.DataObject
) -> None:
    order = tuple(data.draw(st.permutations(range(len(function.inputs)))))
    other = reordered(function, order)
    tried = {
        order
        for order in permutations(range(len(function.inputs)))
        if tuple(reordered(function, order).outputs.values()) == tuple(other.outputs.values())
    }
    assert set(same_orders(function, other)) == tried
    assert order in tried


def variations(spec: Spec) -> list[Canonical]:
    """Questions that differ from the first, and from one another, in one thing each."""
    pins = dict(spec.pins)
    column = spec.function.outputs["q"]
    flipped = ("1" if column[0] == "0" else "0") + column[1:]
    changed = [
        spec,
        spec.replace(function=BooleanFunction(spec.function.inputs, {"q": flipped})),
        spec.replace(limits=replace(spec.limits, delay=3)),
        spec.replace(limits=replace(spec.limits, length=4)),
        spec.replace(limits=replace(spec.limits, parts=5)),
        spec.replace(stack=StackDemand("x")),
        spec.replace(stack=StackDemand("y")),
        spec.replace(stack=StackDemand("y", 3)),
        spec.replace(ground=True),
        spec.replace(empty=frozenset({(0, 0, 0)})),
        spec.replace(pins=pins | {"a": replace(pins["a"], at=(0, 0, 0))}),
        spec.replace(pins=pins | {"a": replace(pins["a"], faces=(Direction.NX,))}),
        spec.replace(pins=pins | {"b": replace(pins["b"], faces=(Direction.NX,))}),
        spec.replace(pins=pins | {"q": replace(pins["q"], joint=Joint.BUFFER)}),
    ]
    questions = [Canonical.of(Problem(one, VOLUME))[0] for one in changed]
    questions += [
        Canonical.of(Problem(spec, measures))[0] for measures in (("floor",), ("volume", "delay"))
    ]
    return [*questions, Canonical.of(Problem(spec, VOLUME, Rules(reach=7)))[0]]


def test_other_questions_have_other_keys() -> None:
    spec = Spec.parse("q = a & ~b", length=3, width=2, height=3, delay=2)
    keys = [asked.key for asked in variations(spec)]
    assert len(set(keys)) == len(keys)


def test_a_new_encoding_makes_old_answers_others(monkeypatch: pytest.MonkeyPatch) -> None:
    spec = Spec.parse("q = a & ~b")
    before = Canonical.of(Problem(spec, VOLUME))[0].key
    monkeypatch.setattr("synth.library.canonical.ENCODING_VERSION", 2)
    assert Canonical.of(Problem(spec, VOLUME))[0].key != before


def test_what_nobody_says_is_what_the_search_assumes() -> None:
    """A question with those limits said is the same one."""
    spec = Spec.parse("q = a & ~b")
    asked, _ = Canonical.of(Problem(spec, VOLUME))
    limits, _ = assumed_limits(Limits())
    said = spec.replace(
        limits=limits,
        pins={name: replace(ask, joint=Joint.WIRE) for name, ask in spec.pins.items()},
    )
    assert asked.spec.limits == limits
    assert Canonical.of(Problem(said, VOLUME))[0].key == asked.key


@given(specs())
def test_a_question_is_read_back_from_its_document(spec: Spec) -> None:
    asked, _ = Canonical.of(
        Problem(spec, ("volume", "parts"), Rules(reach=9, buffer_delays=(1, 2)))
    )
    again = Canonical.from_document(json.loads(json.dumps(asked.document())))
    assert again == asked
    assert again.key == asked.key


@given(specs())
def test_canonical_questions_are_their_own_form(spec: Spec) -> None:
    asked, _ = Canonical.of(Problem(spec, VOLUME))
    again, naming = Canonical.of(Problem(asked.spec, VOLUME))
    assert again.key == asked.key
    assert sorted(naming.asked.values()) == sorted(asked.spec.pin_names)


@settings(max_examples=30)
@given(st.data())
def test_recall_answers_any_disguise_of_the_question(data: st.DataObject) -> None:
    """The layout has the names asked, each pin keeps what is asked of it, and it works."""
    spec, outcome = pins_asked()
    other = data.draw(st.composite(a_disguise)(spec))
    with Store(":memory:") as store:
        store.keep(Problem(spec, VOLUME), outcome)
        again = store.recall(Problem(other, VOLUME))
    assert again is not None
    assert again.status is outcome.status
    assert again.claim == outcome.claim
    assert again.layout is not None
    assert outcome.layout is not None
    assert tuple(pin.name for pin in again.layout.pins) == other.pin_names
    assert again.layout.size == outcome.layout.size
    assert check(again.layout, other).passes
    assert again.verdict == check(again.layout, other)


def test_eight_inputs_have_a_form_too() -> None:
    """Four pairs: 40,320 orders; tried one by one they would keep this test for minutes."""
    spec = Spec.parse("q = a & b | c & d | e & f | g & h")
    key = function_key(spec.function)
    order = list(range(8))
    random.Random(1).shuffle(order)
    assert function_key(reordered(spec.function, tuple(order))) == key
