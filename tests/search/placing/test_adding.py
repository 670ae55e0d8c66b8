"""An output is added to what stands: all of that stays, and the whole is right."""

from __future__ import annotations

from collections.abc import Generator
from dataclasses import replace

import pytest

from synth.encoding.windows import labels_of
from synth.encoding.windows.labels import Label
from synth.layout import Layout
from synth.medium import Direction
from synth.questions.problem import Problem
from synth.search.placing import adding
from synth.search.placing.adding import part_of, with_output
from synth.search.placing.starts import PlacedStarts
from synth.simulator import check
from synth.spec import Limits, PinDemand, Spec

DELAY = 2
ASKED = {"stack": "y", "joint": "buffer", "width": 2, "delay": DELAY}
BOTH = Spec.parse("p = a & b; q = ~(a & b)", **ASKED)
BESIDE = Spec.parse("p = a & b; q = ~b", **ASKED)
BEFORE = Spec.parse("q = ~(a & b); p = a & b", **ASKED)
ONE = part_of(BOTH, ("p",))


def placed(spec: Spec) -> PlacedStarts:
    return PlacedStarts(Problem.of(spec)[0], spec.limits)


@pytest.fixture(scope="module")
def base() -> Layout:
    return next(found for found in placed(ONE).tries() if found is not None)


def last(tries: Generator[None, None, Layout | None]) -> tuple[int, Layout | None]:
    """How many tries there were, and what they found."""
    count = 0
    while True:
        try:
            next(tries)
        except StopIteration as end:
            found: Layout | None = end.value
            return count, found
        count += 1


@pytest.mark.parametrize("spec", [BOTH, BESIDE, BEFORE])
def test_what_stands_stays_and_the_whole_is_right(base: Layout, spec: Spec) -> None:
    _, found = last(with_output(base, ONE, spec, DELAY))
    assert found is not None
    assert check(found, spec, delay=DELAY).passes
    old, new = ({pin.name: pin for pin in layout.pins} for layout in (base, found))
    shift = tuple(b - a for a, b in zip(old["a"].at, new["a"].at, strict=True))
    for name, pin in old.items():
        assert new[name].face is pin.face
    for cell, block in base.cells.items():
        x, y, z = (at + by for at, by in zip(cell, shift, strict=True))
        assert found.cells[x, y, z] == block


def test_boxes_of_no_use_are_not_tried(base: Layout) -> None:
    assert last(with_output(base, ONE, BOTH, DELAY, lambda size: False)) == (0, None)


def test_new_signals_leave_the_others_as_they_were(base: Layout) -> None:
    before = labels_of(base, ONE, DELAY)
    wire, mask = next(iter(before.carried.items()))
    before = replace(before, carried={**before.carried, wire: mask | 1 << before.unknown})
    new = (Label(0b1110, 9), before.signals[0])
    after = before.with_new(new, base.cells)
    assert after.signals == (*before.signals, new[0])
    assert after.devices == before.devices
    assert after.carried[wire] == mask | 1 << after.unknown
    others = before.carried.keys() - {wire}
    assert all(after.carried[place] == before.carried[place] for place in others)
    assert {signal for _, signal in after.loose} == {0, before.unknown}


def test_outputs_are_placed_one_after_the_other() -> None:
    placing = placed(BOTH)
    found = next(found for found in placing._one_by_one() if found is not None)
    assert check(found, BOTH, delay=DELAY).passes
    assert tuple(pin.name for pin in found.pins) == BOTH.pin_names


def test_pins_at_a_place_of_the_box_are_left_to_the_other_ways(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    def never(self: PlacedStarts) -> None:
        raise AssertionError

    monkeypatch.setattr(PlacedStarts, "_one_by_one", never)
    monkeypatch.setattr(PlacedStarts, "_in_rounds", lambda self: iter([]))
    pins = {**BOTH.pins, "a": PinDemand((Direction.NX,), (0, 0, 2), None)}
    assert list(placed(BOTH.replace(pins=pins, limits=Limits(width=2, delay=DELAY))).tries()) == []


def beside_in_vain(monkeypatch: pytest.MonkeyPatch, *, strips: bool) -> list[tuple[int, object]]:
    """Let no output have a place beside what stands, nor in strips unless asked; what was tried."""
    placed_in, tried = adding._placed, []

    def stub(standing, made, room, freed=frozenset()):  # type: ignore[no-untyped-def]
        tried.append((len(room), freed))
        if strips and freed:
            return placed_in(standing, made, room, freed)
        return adding.Answer.NO_PLACE

    monkeypatch.setattr(adding, "_placed", stub)
    return tried


def test_a_strip_is_freed_where_there_is_no_place_beside_what_stands(
    base: Layout, monkeypatch: pytest.MonkeyPatch
) -> None:
    tried = beside_in_vain(monkeypatch, strips=True)
    tries, found = last(with_output(base, ONE, BOTH, DELAY))
    assert found is not None
    assert tries == len(tried)
    assert check(found, BOTH, delay=DELAY).passes
    assert [bool(freed) for _, freed in tried] == sorted(bool(freed) for _, freed in tried)
    assert last(with_output(base, ONE, BOTH, DELAY)) == (tries, found)


def test_a_strip_without_a_place_is_not_tried_in_smaller_boxes(
    base: Layout, monkeypatch: pytest.MonkeyPatch
) -> None:
    tried = beside_in_vain(monkeypatch, strips=False)
    assert last(with_output(base, ONE, BOTH, DELAY)) == (len(tried), None)
    strips = [freed for _, freed in tried if freed]
    assert len(strips) == len(set(strips)) == max(base.size[0], base.size[2]) - adding.STRIP + 1
    widest = max(room for room, _ in tried)
    assert {room for room, freed in tried if freed} == {widest}
