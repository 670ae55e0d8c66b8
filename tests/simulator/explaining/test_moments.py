"""Moments: the play worked out in advance is the play, and says honestly how much of it it is."""

from __future__ import annotations

import json

import pytest

from synth.errors import InputError
from synth.layout import Layout, Pin
from synth.medium import SOLID, WIRE, Direction, Role
from synth.simulator import check
from synth.simulator.explaining.moments import MAX_PLAYED_INPUTS, moments_of
from tests.stored import DATA, stored_layout

CONFORMANCE = DATA.parent / "conformance"
XOR = stored_layout("xor2")


def wires(count: int) -> Layout:
    """Inputs that each feed a wire of their own, two lanes apart; no output."""
    cells = {}
    pins = []
    for index in range(count):
        cells[(0, 2 * index, 0)] = SOLID
        cells[(0, 2 * index, 1)] = WIRE
        pins.append(Pin(f"i{index}", Role.INPUT, (0, 2 * index, 1), Direction.NX))
    return Layout(size=(1, 2 * count, 2), cells=cells, pins=tuple(pins))


def test_all_of_a_small_layout_is_played() -> None:
    moments = moments_of(XOR)
    assert moments.jumps == "all"
    assert moments.free
    assert moments.settles == frozenset(range(4))
    for entries in moments.enter:
        assert sorted(entries) == [0, 1, 2, 3]
    for moment in moments.moments:
        assert moment.after < len(moments.enter)


def test_every_change_ends_at_the_settled_outputs() -> None:
    settled = check(XOR).outputs
    assert settled is not None
    moments = moments_of(XOR)
    for start in moments.rest.values():
        for row in range(4):
            number = moments.enter[moments.moments[start].after][row]
            for _ in range(10):
                number = moments.enter[moments.moments[number].after][row]
            assert str(moments.moments[number].outputs[0]) == settled["q"][row]


@pytest.mark.parametrize("max_looks", [1, 200, 500, 900, 1_000])
def test_with_little_room_what_is_kept_is_whole_in_itself(max_looks: int) -> None:
    moments = moments_of(XOR, max_looks=max_looks)
    full = moments_of(XOR)
    assert len(moments.moments) < len(full.moments)
    assert not moments.free
    assert set(moments.rest) == set(range(4))
    for moment in moments.moments:
        assert moment.after < len(moments.enter)
        for kinds, look in zip(moments.situations, moment.looks, strict=True):
            assert look < len(kinds)
    kept = {number for entries in moments.enter for number in entries.values()}
    assert kept == set(range(len(moments.moments)))
    if moments.jumps == "all":
        for start in moments.rest.values():
            assert len(moments.enter[moments.moments[start].after]) == 4


def test_room_for_jumps_only() -> None:
    """Between none and all there is room for the changes of settled layouts alone."""
    found = {(m.jumps, m.free) for m in (moments_of(XOR, max_looks=k) for k in range(1, 1300, 60))}
    assert found == {("some", False), ("all", False), ("all", True)}


def test_many_inputs_change_one_at_a_time() -> None:
    moments = moments_of(wires(6))
    assert moments.jumps == "one"
    assert len(moments.rest) == 64


def test_too_many_inputs_are_refused() -> None:
    with pytest.raises(InputError, match="too many to play in advance"):
        moments_of(wires(MAX_PLAYED_INPUTS + 1))


def test_what_never_settles_is_said_not_to() -> None:
    text = (CONFORMANCE / "ring-oscillates.json").read_text(encoding="utf-8")
    ring = Layout.from_document(json.loads(text)["layout"])
    moments = moments_of(ring)
    assert len(moments.settles) < len(moments.rest)
