"""Slices of chains by construction: right whatever is asked, and right in rows."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from synth.composing import compose
from synth.medium import ChainLink, Direction
from synth.simulator.rows import row_verdict
from synth.spec import BooleanFunction, Limits, Spec, StackDemand
from synth.spec.targets import load_target, target_names

SLICES = [
    name for name in target_names() if name.endswith("-slice") and len(load_target(name).chain) == 1
]


@pytest.mark.parametrize("name", SLICES)
def test_every_slice_of_the_targets_is_made_within_its_limits(name: str) -> None:
    spec = load_target(name)
    made = compose(spec)
    assert made.layout is not None
    assert made.layout.width == 2
    assert made.layout.chain == spec.chain
    assert made.best is not None
    assert made.best.verdict is not None
    row = row_verdict(
        made.layout, made.best.verdict, spec.replace(limits=Limits()), 3, (None, None)
    )
    assert row.passes, row.wrong


def columns(rows: int) -> st.SearchStrategy[str]:
    return st.text("01-", min_size=rows, max_size=rows)


@settings(max_examples=25)
@given(st.sampled_from("xy"), st.sampled_from([1, 2]), st.data())
def test_every_slice_made_is_right_and_none_is_missing_but_for_long_shafts(
    axis: str, inputs: int, data: st.DataObject
) -> None:
    names = (*"ab"[:inputs], "i")
    rows = 1 << len(names)
    outputs = {"q": data.draw(columns(rows)), "o": data.draw(columns(rows))}
    spec = Spec(
        BooleanFunction(names, outputs), stack=StackDemand(axis, chain=(ChainLink("o", "i"),))
    )
    made = compose(spec)
    if made.layout is None:
        assert {attempt.reason for attempt in made.attempts} == {
            "the shaft of a link is longer than a wire carries"
        }
        return
    verdict = made.best.verdict if made.best else None
    assert verdict is not None
    row = row_verdict(made.layout, verdict, spec, 4, (None, None))
    assert row.passes, row.wrong


@pytest.mark.parametrize(("axis", "face"), [("x", "+y"), ("x", "-y"), ("y", "+x"), ("y", "-x")])
def test_pins_go_to_the_face_asked(axis: str, face: str) -> None:
    spec = load_target("parity-slice")
    assert spec.stack is not None
    asked = spec.replace(limits=Limits(), stack=replace(spec.stack, axis=axis))
    ask = replace(asked.pins["a"], faces=(Direction(face),))
    made = compose(asked.replace(pins={**asked.pins, "a": ask}))
    assert made.layout is not None
    assert {str(pin.face) for pin in made.layout.pins if pin.name == "a"} == {face}


def test_several_links_are_not_made_yet() -> None:
    made = compose(load_target("greater-than-down-slice"))
    assert made.layout is None
    assert [attempt.reason for attempt in made.attempts] == ["a slice with several links"] * len(
        made.attempts
    )
