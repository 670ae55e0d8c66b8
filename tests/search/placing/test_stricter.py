"""A stricter question, and its layouts with the joints that are asked: right, and hardly larger."""

from __future__ import annotations

import math
from dataclasses import replace
from itertools import product
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from synth.layout import Layout, Pin
from synth.medium import Block, Direction, Joint, Part, RuleId
from synth.questions.measures import keeps
from synth.questions.problem import Problem
from synth.search.placing.starts import PlacedStarts
from synth.search.placing.stricter import TICKS, WIDTH, adapted, stricter
from synth.simulator import check
from synth.spec import Limits, PinDemand, Spec, StackDemand
from tests.reading import plain

RECORDS = Path(__file__).parents[3] / "benchmarks" / "records"
PARITY = Layout.load(RECORDS / "parity_layout.json")
ADDER = Layout.load(RECORDS / "small_full_adder_layout.json")
"""Of buffer joints, and stacking along y: what a stricter question has."""

NEAR_PINS = Layout.load(Path(__file__).with_name("near_pins.json"))
"""A full adder as it was placed, with an output beside an input."""

FUNCTIONS = {
    "parity": (PARITY, Spec.parse("q = a ^ b ^ c")),
    "adder": (ADDER, Spec.parse("s = a ^ b ^ c; co = a & b | c & (a | b)")),
}

MOST_COLUMNS = 4
"""Two at each end."""

AND = "q = a & b & c"


def asked(spec: Spec) -> tuple[Problem, Limits] | None:
    return stricter(Problem.of(spec)[0], spec.limits)


def with_joints(layout: Layout, spec: Spec) -> Layout | None:
    return adapted(layout, Problem.of(spec)[0], spec.limits)


@pytest.mark.parametrize("stack", [None, "x", "y"])
@pytest.mark.parametrize("joint", ["wire", "buffer"])
def test_it_asks_what_is_placed_soonest(joint: str, stack: str | None) -> None:
    """Nothing of it is looser than what is asked, but for the joints."""
    for delay in (None, 2, 3, 4, 9):
        spec = Spec.parse(
            AND, joint=joint, stack=stack, **({} if delay is None else {"delay": delay})
        )
        found = asked(spec)
        if joint == "buffer" and stack == "y" and delay in (2, 3, 4):
            assert found is None, "that is as strict itself"
            continue
        assert found is not None
        problem, own = found
        assert all(problem.spec.joint(name) is Joint.BUFFER for name in spec.pin_names)
        assert problem.spec.stack == StackDemand("y")
        assert problem.limits.width == own.width == WIDTH
        late = joint == "wire"
        assert own.delay == problem.limits.delay
        assert own.delay == (TICKS if delay is None else min(TICKS, delay - late))
        again = stricter(problem, own)
        assert again is None, "of a stricter question there is none"


@pytest.mark.parametrize(
    "spec",
    [
        Spec.parse("q = a & b"),
        Spec.parse(AND, stack="z"),
        Spec.parse(AND, stack="y", pitch=3),
        Spec.parse(AND, width=1),
        Spec.parse(AND, delay=1),
        Spec.parse("q = a & b & ci; co = a & ci", stack="x", chain=[("co", "ci")]),
        Spec.parse(AND).replace(pins={"a": PinDemand(at=(0, 0, 0))}),
        Spec.parse(AND).replace(pins={"a": PinDemand(faces=(Direction.PY,))}),
    ],
)
def test_there_is_none_where_it_cannot_help(spec: Spec) -> None:
    assert asked(spec) is None


def test_a_short_box_is_looked_for_across() -> None:
    found = asked(Spec.parse(AND, length=3, width=20))
    assert found is not None
    assert found[1].length == 20


def joined(layout: Layout, spec: Spec) -> tuple[Pin, ...]:
    """The pins of a layout with the joints that are asked."""
    return tuple(replace(pin, joint=spec.joint(pin.name)) for pin in layout.pins)


@given(
    st.sampled_from(sorted(FUNCTIONS)),
    st.lists(st.sampled_from([Joint.WIRE, Joint.BUFFER]), min_size=5, max_size=5),
    st.sampled_from([None, "x", "y"]),
)
def test_what_is_adapted_is_right_by_the_plain_reading(
    name: str, joints: list[Joint], stack: str | None
) -> None:
    base, function = FUNCTIONS[name]
    demand = None if stack is None else StackDemand(stack)
    pins = {
        pin: PinDemand(None, None, joint)
        for pin, joint in zip(function.pin_names, joints, strict=False)
    }
    spec = function.replace(pins=pins, stack=demand)
    found = with_joints(base, spec)
    if found is None:
        assert stack is not None or name == "adder", (
            "at the sides of cells a parity's have the room"
        )
        faults = check(base.replace(pins=joined(base, spec)), function).faults
        assert RuleId.PIN_SPACING in {fault.rule for fault in faults}, (
            "nothing else stands in the way"
        )
        return
    assert {pin.name: pin.joint for pin in found.pins} == {n: spec.joint(n) for n in spec.pin_names}
    columns = found.volume / base.volume
    assert columns <= (base.length + MOST_COLUMNS) / base.length * (base.height + 1) / base.height
    own = plain.verdict(found, dict(spec.function.outputs), copies=2)
    assert own.legal, own.reasons
    assert own.function
    assert not own.fed_back
    assert own.stacks in (None, True)


def test_without_wire_joints_a_layout_stays_as_it_is() -> None:
    for base, function in FUNCTIONS.values():
        spec = function.replace(pins={n: PinDemand(joint=Joint.BUFFER) for n in function.pin_names})
        found = with_joints(base, spec)
        assert found is not None
        assert found.cells == base.cells
        assert found.stack is None


def test_an_input_of_a_wire_joint_gets_the_buffer_that_stood_outside() -> None:
    """What a buffer drives, a lead would only charge."""
    function = FUNCTIONS["parity"][1]
    joints = dict.fromkeys(function.pin_names, Joint.BUFFER) | {"a": Joint.WIRE}
    spec = function.replace(pins={name: PinDemand(joint=own) for name, own in joints.items()})
    found = with_joints(PARITY, spec)
    assert found is not None
    pin = next(pin for pin in found.pins if pin.name == "a")
    assert found.cells[pin.at] == Block(Part.BUFFER, pin.face.opposite, 1)
    assert found.volume == PARITY.volume // PARITY.length * (PARITY.length + 1)


def test_limits_are_kept_or_nothing_is_given() -> None:
    function = FUNCTIONS["parity"][1]
    own = check(PARITY, function).delay
    assert own is not None
    for delay, length in product((own, own + 1, own + 2), (PARITY.length, PARITY.length + 2)):
        spec = function.replace(limits=Limits(delay=delay, length=length, width=WIDTH))
        found = with_joints(PARITY, spec)
        if delay == own or length == PARITY.length:
            assert found is None, "its buffers need room and a tick"
            continue
        assert found is not None
        verdict = check(found, spec, delay=delay)
        assert verdict.passes
        assert keeps(found, verdict.delay, spec.limits)


def test_outputs_go_to_the_sides_of_their_cells_where_they_are_too_near() -> None:
    """Not in a stack: there the sides touch the next copies."""
    function = FUNCTIONS["adder"][1]
    found = with_joints(NEAR_PINS, function)
    assert found is not None
    assert {pin.face.axis for pin in found.inputs} == {"x"}
    assert "y" in {pin.face.axis for pin in found.outputs}
    own = plain.verdict(found, dict(function.function.outputs))
    assert own.legal
    assert own.function
    assert not own.fed_back
    for axis in ("x", "y"):
        assert with_joints(NEAR_PINS, function.replace(stack=StackDemand(axis))) is None


@pytest.mark.parametrize("stack", ["x", "y"])
def test_pins_keep_the_distance_of_the_joints_that_are_asked(stack: str | None) -> None:
    spec = Spec.parse("q = a & b & c", stack=stack)
    strict = asked(spec)
    assert strict is not None
    found = next(one for one in PlacedStarts(*strict).tries() if one is not None)
    faults = check(found.replace(pins=joined(found, spec)), spec.replace(stack=None)).faults
    assert RuleId.PIN_SPACING not in {fault.rule for fault in faults}
    assert with_joints(found, spec) is not None


@pytest.mark.parametrize("stack", [None, "x", "y"])
def test_wire_joints_have_starts_by_it(stack: str | None) -> None:
    spec = Spec.parse("q = a & b | c & (a | b)", joint="wire", stack=stack)
    placing = PlacedStarts(Problem.of(spec)[0], spec.limits)
    found = next((one for one in placing.tries() if one is not None), None)
    assert found is not None
    assert check(found, spec).passes
    assert math.prod(found.size) < 150
    assert not placing.awaits_stricter
