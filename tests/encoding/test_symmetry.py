"""Breaking symmetry keeps a layout of every set that mirroring and exchanging inputs makes."""

from __future__ import annotations

import pytest

from synth.encoding import Question, encode
from synth.encoding.symmetry import exchangeable, images
from synth.layout import Layout
from synth.medium import Direction, Joint, Size
from synth.spec import BooleanFunction, PinDemand, Spec, StackDemand
from tests.encoding.every_layout import as_key, models

SIDES = (Direction.PX, Direction.NX)

# Every case has layouts; don't-cares make them many.
CASES = [
    ((2, 1, 1), "0---", None, Joint.WIRE, None, 0),
    ((1, 1, 2), "0111", None, Joint.WIRE, None, 0),
    ((2, 2, 1), "0---", SIDES, Joint.BUFFER, None, 0),
    ((1, 2, 1), "0---", SIDES, Joint.BUFFER, "y", 0),
    ((1, 1, 3), "0111", SIDES, Joint.BUFFER, None, 1),
]


def spec_of(
    column: str, faces: tuple[Direction, ...] | None, joint: Joint, axis: str | None
) -> Spec:
    function = BooleanFunction(("a", "b"), {"q": column})
    asks = {name: PinDemand(faces, None, joint) for name in ("a", "b", "q")}
    return Spec(function, pins=asks, stack=StackDemand(axis) if axis else None)


def orbit(layout: Layout, question: Question) -> set[object]:
    """Every image of a layout, inputs exchanged or not."""
    statics = encode(question).statics
    found = set()
    for image in images(question, statics):
        cells = {image.cell(cell): image.block(block) for cell, block in layout.cells.items()}
        for renaming in ({}, {"a": "b", "b": "a"}):
            pins = []
            for pin in layout.pins:
                name = renaming.get(pin.name, pin.name)
                place = (image.cell(pin.at), image.direction(pin.face))
                pins.append(type(pin)(name, pin.role, *place, pin.joint))
            found.add(as_key(layout.replace(cells=cells, pins=tuple(pins))))
    return found


@pytest.mark.parametrize(("size", "column", "faces", "joint", "axis", "delay"), CASES, ids=str)
def test_every_layout_has_an_image_that_stays(
    size: Size,
    column: str,
    faces: tuple[Direction, ...] | None,
    joint: Joint,
    axis: str | None,
    delay: int,
) -> None:
    spec = spec_of(column, faces, joint, axis)
    plain = Question(spec, size, delay, break_symmetry=False)
    broken = Question(spec, size, delay, break_symmetry=True)
    stay = {as_key(layout): layout for layout in models(encode(broken))}
    every = {as_key(layout) for layout in models(encode(plain))}
    assert set(stay) <= every
    covered = set().union(*(orbit(layout, plain) for layout in stay.values()))
    assert covered == every
    assert len(stay) < len(every)


def test_inputs_are_exchangeable_where_the_function_and_the_asks_are_alike() -> None:
    majority = BooleanFunction(("a", "b", "c"), {"q": "00010111"})
    assert list(exchangeable(Question(Spec(majority), (2, 2, 2), 1))) == [("a", "b", "c")]
    chosen = BooleanFunction(("s", "a", "b"), {"q": "00110101"})
    assert list(exchangeable(Question(Spec(chosen), (2, 2, 2), 1))) == []
    asked = Spec(majority, pins={"b": PinDemand(joint=Joint.BUFFER)})
    assert list(exchangeable(Question(asked, (2, 2, 2), 1))) == [("a", "c")]
    mixed = BooleanFunction(("a", "b", "c"), {"q": "01010111"})
    assert list(exchangeable(Question(Spec(mixed), (2, 2, 2), 1))) == [("a", "b")]


def test_fixed_places_leave_no_image() -> None:
    spec = Spec(
        BooleanFunction(("a",), {"q": "10"}),
        pins={"a": PinDemand((Direction.NX,), (0, 0, 0)), "q": PinDemand()},
    )
    question = Question(spec, (2, 2, 1), 1)
    kept = images(question, encode(question).statics)
    assert [(image.exchange, image.mirror_x, image.mirror_y) for image in kept] == [
        (False, False, False)
    ]
