"""Slices of chains by construction: right whatever is asked, and right in rows."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from synth.composing import Composition, compose
from synth.composing.constructions import OF_SLICES
from synth.medium import DEFAULT_RULES, ChainLink, Direction
from synth.simulator.rows import row_verdict
from synth.spec import BooleanFunction, Limits, Spec, StackDemand
from synth.spec.targets import load_target, target_names

SLICES = [name for name in target_names() if name.endswith("-slice")]


@pytest.mark.parametrize("name", SLICES)
def test_every_slice_of_the_targets_is_made(name: str) -> None:
    spec = load_target(name)
    if len(spec.chain) > 1:
        spec = spec.replace(limits=replace(spec.limits, delay=None))
    made = compose(spec, constructions=OF_SLICES)
    assert made.layout is not None
    assert made.layout.width == 2
    assert made.layout.chain == spec.chain
    assert_right_in_a_row(made, spec.replace(limits=Limits()), 3)


def assert_right_in_a_row(made: Composition, spec: Spec, copies: int) -> None:
    assert made.best is not None, [attempt.reason for attempt in made.attempts]
    assert made.layout is not None
    assert made.best.verdict is not None
    row = row_verdict(made.layout, made.best.verdict, spec, copies, (None, None))
    assert row.passes, row.wrong


def columns(rows: int) -> st.SearchStrategy[str]:
    return st.text("01-", min_size=rows, max_size=rows)


def slices(data: st.DataObject, axis: str, inputs: int, links: int) -> Spec:
    names = (*"ab"[:inputs], *"ijk"[:links])
    rows = 1 << len(names)
    outputs = {name: data.draw(columns(rows)) for name in ("q", *"opr"[:links])}
    chain = tuple(ChainLink(*pair) for pair in zip("opr"[:links], "ijk", strict=False))
    return Spec(BooleanFunction(names, outputs), stack=StackDemand(axis, chain=chain))


@settings(max_examples=25)
@given(st.sampled_from("xy"), st.sampled_from([1, 2]), st.data())
def test_every_slice_made_is_right_and_none_is_missing(
    axis: str, inputs: int, data: st.DataObject
) -> None:
    spec = slices(data, axis, inputs, 1)
    assert_right_in_a_row(compose(spec, constructions=OF_SLICES), spec, 4)


@settings(max_examples=15)
@given(st.sampled_from("xy"), st.sampled_from([(1, 2), (0, 2), (0, 3)]), st.data())
def test_slices_with_several_links_are_right_and_none_is_missing(
    axis: str, pins: tuple[int, int], data: st.DataObject
) -> None:
    spec = slices(data, axis, *pins)
    assert_right_in_a_row(compose(spec, constructions=OF_SLICES), spec, 3)


def test_links_that_change_places_do_not_meet() -> None:
    outputs = {"q": "0110", "o": "0101", "p": "0011"}  # Each link hands on the other's signal.
    spec = Spec(
        BooleanFunction(("i", "j"), outputs),
        stack=StackDemand("x", chain=(ChainLink("o", "i"), ChainLink("p", "j"))),
    )
    assert_right_in_a_row(compose(spec, constructions=OF_SLICES), spec, 4)


def test_a_shaft_that_is_longer_than_a_wire_carries_goes_on_behind_a_buffer() -> None:
    column = "".join(str(bin(row).count("1") % 2) for row in range(16))
    spec = Spec(
        BooleanFunction(("i", "a", "b", "c"), {"o": column}),
        stack=StackDemand("x", chain=(ChainLink("o", "i"),)),
    )
    made = compose(spec, constructions=OF_SLICES)
    assert_right_in_a_row(made, spec, 3)
    assert made.layout is not None
    (low,) = (pin.at[2] for pin in made.layout.pins if pin.name == "i")
    assert made.layout.height - low > DEFAULT_RULES.reach + 3


@pytest.mark.parametrize(("axis", "face"), [("x", "+y"), ("x", "-y"), ("y", "+x"), ("y", "-x")])
def test_pins_go_to_the_face_asked(axis: str, face: str) -> None:
    spec = load_target("parity-slice")
    assert spec.stack is not None
    asked = spec.replace(limits=Limits(), stack=replace(spec.stack, axis=axis))
    ask = replace(asked.pins["a"], faces=(Direction(face),))
    made = compose(asked.replace(pins={**asked.pins, "a": ask}), constructions=OF_SLICES)
    assert made.layout is not None
    assert {str(pin.face) for pin in made.layout.pins if pin.name == "a"} == {face}
