"""What is asked in keywords, laid over text and over specifications."""

from __future__ import annotations

from typing import Any

import pytest
from hypothesis import given

from synth.errors import InputError
from synth.medium import Direction, Joint
from synth.spec import BooleanFunction, Limits, PinDemand, Spec, StackDemand
from synth.spec.demands import KEYWORDS, with_limits
from synth.spec.documents import parse_spec
from tests.spec.strategies import specs


def test_text_alone_leaves_everything_free() -> None:
    assert Spec.parse("q = a ^ b") == Spec(BooleanFunction(("a", "b"), {"q": "0110"}))


def test_every_keyword() -> None:
    spec = parse_spec(
        "q = a & ~b",
        length=5,
        width=2,
        height=4,
        volume=40,
        floor=10,
        parts=30,
        delay=2,
        stack="y",
        pitch=3,
        joint="buffer",
        ground=True,
        name="inhibit",
        inputs=["b", "a"],
        input_faces="-x",
        output_faces=["+x", "-x"],
    )
    buffered = PinDemand((Direction.NX,), None, Joint.BUFFER)
    assert spec == Spec(
        function=BooleanFunction(("b", "a"), {"q": "0100"}),
        limits=Limits(5, 2, 4, volume=40, floor=10, parts=30, delay=2),
        pins={
            "a": buffered,
            "b": buffered,
            "q": PinDemand((Direction.PX, Direction.NX), None, Joint.BUFFER),
        },
        stack=StackDemand("y", 3),
        ground=True,
        name="inhibit",
    )


def test_lists_may_be_written_as_text() -> None:
    spec = parse_spec("q = a & ~b", inputs="b, a", input_faces="-x,+y")
    assert spec.function.inputs == ("b", "a")
    assert spec.pins["a"].faces == (Direction.NX, Direction.PY)


def test_an_input_that_the_text_does_not_use_may_be_listed() -> None:
    assert parse_spec("q = a", inputs=["x", "a"]).function.outputs["q"] == "0101"


@given(specs())
def test_none_changes_nothing(spec: Spec) -> None:
    assert with_limits(spec) == spec
    assert with_limits(spec, **dict.fromkeys(KEYWORDS)) == spec


def test_a_keyword_takes_the_place_of_what_was_said() -> None:
    spec = parse_spec("q = a", length=5, delay=0, stack="y", pitch=4, joint="buffer", ground=True)
    changed = with_limits(spec, length=3, delay=1, joint="wire", ground=False)
    assert changed.limits == Limits(length=3, delay=1)
    assert changed.stack == StackDemand("y", 4)
    assert changed.pins["a"].joint is Joint.WIRE
    assert not changed.ground
    assert with_limits(spec, stack="y").stack == StackDemand("y", 4)
    assert with_limits(spec, stack="x").stack == StackDemand("x")


def test_inputs_in_another_order_are_the_same_function() -> None:
    spec = parse_spec("q = a ? b : ~c")
    moved = with_limits(spec, inputs=["c", "a", "b"])
    assert moved.function == parse_spec("q = a ? b : ~c", inputs=["c", "a", "b"]).function
    with pytest.raises(InputError, match=r"inputs: the inputs a, b are not .* list each of a"):
        with_limits(spec, inputs=["a", "b"])


WRONG: list[tuple[dict[str, Any], str]] = [
    ({"lenght": 3}, "no limit 'lenght'; did you mean 'length'? there are length, width"),
    ({"lenght": None}, "no limit 'lenght'; did you mean 'length'?"),
    ({"length": 0}, "limits.length: a length of 0; use 1 to 64"),
    ({"length": "3"}, "limits.length: a length of '3'; use a whole number"),
    ({"volume": True}, "limits.volume: a volume of True; use a whole number"),
    ({"stack": "w"}, "stack: no axis 'w'; use one of x, y, z"),
    ({"pitch": 2}, "pitch: there is a pitch, but no stacking; add stack="),
    ({"stack": "y", "pitch": 0}, "pitch: 0 is too small; use a whole number from 1"),
    ({"stack": "z", "ground": True}, "stack.axis: a layout on ground does not stack along z"),
    ({"joint": "wires"}, "joint: no joint 'wires'; did you mean 'wire'?"),
    ({"ground": 1}, "ground: 1 is neither true nor false"),
    ({"name": "a\nb"}, "name: 'a\\nb' has characters that cannot be printed"),
    ({"inputs": ["a"]}, "column 9: 'b' is neither an input nor assigned"),
    ({"inputs": ["a", "b", "q"]}, "inputs[2]: 'q' is an input and an output"),
    ({"inputs": 3}, "inputs: 3 is no list"),
    ({"input_faces": "+z"}, "input_faces: no direction '+z'; use one of +x, -x, +y, -y"),
    ({"input_faces": [1]}, "input_faces[0]: 1 is no text"),
    ({"output_faces": ""}, "pins.q.faces: no face is left for pin 'q'"),
    ({"output_faces": "+y", "stack": "y"}, "pins.q.faces: pin 'q' on face +y, along the stacking"),
]


@pytest.mark.parametrize(("limits", "message"), WRONG)
def test_what_is_wrong_is_named(limits: dict[str, Any], message: str) -> None:
    with pytest.raises(InputError) as caught:
        parse_spec("q = a ^ b", **limits)
    assert str(caught.value).startswith(message), str(caught.value)
