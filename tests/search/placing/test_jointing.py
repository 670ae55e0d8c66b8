"""Joints given pin by pin: what comes of it is right, and what was right stays right in a room."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace

import pytest

from synth.composing.kept_slices import slices_of
from synth.encoding.windows import Window
from synth.layout import Layout
from synth.medium import DEFAULT_RULES, Direction, Joint, Role, Size
from synth.questions.problem import Problem
from synth.search.placing import jointing
from synth.search.placing.jointing import MOST_FREE, Room, by_buffers, jointed, rooms_for
from synth.search.placing.windowed import Answer
from synth.simulator import check
from synth.simulator.rows import row_verdict
from synth.spec import Limits, Spec
from tests.search.placing.tries import returned

SLICES = {
    "parity": "co = a ^ ci",
    "negation": "q = a ^ ci; co = a | ci",
    "selective inverter": "q = a ^ ci; co = ci",
    "incrementer": "q = a ^ ci; co = a & ci",
    "full adder": "q = a ^ b ^ ci; co = a & b | ci & (a | b)",
}
QUICK = ("parity", "negation", "selective inverter")


def asked(name: str, joint: str = "wire", **limits: int) -> Spec:
    return Spec.parse(
        SLICES[name], stack="x", chain=[("co", "ci")], joint=joint, **{"delay": 12, **limits}
    )


def kept(name: str) -> Layout:
    return next(slices_of(asked(name, "buffer"), DEFAULT_RULES))


def below(volume: float) -> Callable[[Size], bool]:
    return lambda size: math.prod(size) < volume


def given(name: str, spec: Spec, most: float = math.inf) -> Layout | None:
    return returned(jointed(kept(name), Problem.of(spec)[0], spec.limits, below(most)))


@pytest.mark.parametrize("name", QUICK)
def test_a_slice_is_right_with_the_joints_that_are_asked(name: str) -> None:
    spec = asked(name)
    found = given(name, spec)
    assert found is not None
    verdict = check(found, spec)
    assert verdict.passes, verdict.faults
    assert {pin.joint for pin in found.pins if pin.name not in ("co", "ci")} == {Joint.WIRE}
    row = row_verdict(found, verdict, spec.replace(limits=Limits()), 3, (None, None))
    assert row.passes, row.wrong


def test_of_several_joints_each_pin_gets_its_own() -> None:
    spec = asked("negation")
    mixed = spec.replace(pins={**spec.pins, "a": replace(spec.pins["a"], joint=Joint.BUFFER)})
    found = given("negation", mixed)
    assert found is not None
    assert {pin.name: pin.joint for pin in found.pins}["a"] is Joint.BUFFER
    assert {pin.name: pin.joint for pin in found.pins}["q"] is Joint.WIRE
    assert check(found, mixed).passes


def test_what_has_its_joints_is_asked_nothing() -> None:
    layout = kept("parity")
    spec = asked("parity", "buffer")
    tries = jointed(layout, Problem.of(spec)[0], spec.limits, below(math.inf))
    with pytest.raises(StopIteration) as end:
        next(tries)
    assert end.value.value == layout


def test_boxes_that_are_of_no_use_are_not_asked(monkeypatch: pytest.MonkeyPatch) -> None:
    sizes: list[Size] = []

    def asked_window(window: Window, conflicts: int) -> Answer:
        sizes.append(window.size)
        return Answer.NO_PLACE

    monkeypatch.setattr(jointing, "asked_window", asked_window)
    layout = kept("negation")
    assert given("negation", asked("negation"), layout.volume + 1) is None
    assert set(sizes) == {layout.size}
    sizes.clear()
    assert given("negation", asked("negation")) is None
    assert len(set(sizes)) > 3
    assert len(sizes) <= jointing.MOST_QUESTIONS


def test_what_breaks_a_limit_of_the_user_is_not_returned() -> None:
    spec = asked("parity", link_delay=1)
    assert given("parity", spec) is None


@pytest.mark.parametrize("name", SLICES)
@pytest.mark.parametrize("way", Direction)
def test_with_a_layer_more_a_slice_is_as_right_as_before(name: str, way: Direction) -> None:
    layout = kept(name)
    room = Room(layout, frozenset()).longer(way, ("co", "ci"))
    at_side = any(pin.face is way for pin in layout.pins if pin.name not in ("co", "ci"))
    links = {pin.name: pin for pin in layout.pins if pin.name in ("co", "ci")}
    if room is None:
        crosses = [pin for pin in links.values() if pin.face is way]
        assert (at_side and layout.width > 1) or any(pin.at[2] == 0 for pin in crosses)
        return
    longer = room.layout
    assert longer.volume > layout.volume
    assert room.added
    assert not room.added & set(longer.cells)
    # A buffer of a link more takes a tick more; where pins turn, a wire may run another way.
    spec = asked(name, "buffer", delay=14)
    verdict = check(longer, spec)
    assert verdict.legal
    assert verdict.passes or at_side, verdict.faults


def test_on_ground_nothing_is_put_below() -> None:
    layout = kept("parity").replace(ground=True)
    spec = asked("parity", "buffer").replace(ground=True)
    for room in rooms_for(layout, spec):
        lower = min(cell[2] for cell in room.layout.cells)
        assert lower == min(cell[2] for cell in layout.cells)


def test_windows_ask_for_a_few_cells_around_one_pin() -> None:
    spec = asked("full adder")
    layout = kept("full adder")
    problem = Problem.of(spec)[0]
    for room in rooms_for(layout, spec):
        for radius in jointing.RADII:
            window = room.window("a", radius, problem)
            if window is None:
                continue
            assert len(window.free) <= MOST_FREE
            assert not window.free & set(window.cells)
            places = {pin.name: (pin.at, pin.face) for pin in room.layout.pins}
            for name, slots in window.pins.items():
                assert name == "a" or [tuple(slot) for slot in slots] == [places[name]]


def test_only_chains_with_wires_are_made_with_buffers_first() -> None:
    assert by_buffers(Problem.of(Spec.parse("q = a ^ b", delay=3))[0]) is None
    assert by_buffers(Problem.of(asked("parity", "buffer"))[0]) is None
    made = by_buffers(Problem.of(asked("parity"))[0])
    assert made is not None
    assert made.spec.joint("a") is Joint.BUFFER
    assert made.spec.chain == asked("parity").chain
    assert [pin.role for pin in kept("parity").pins] == [Role.INPUT, Role.INPUT, Role.OUTPUT]
