"""Reasons: what they say of a cell is what a trace shows, and so is what they say of its causes."""

from __future__ import annotations

import json
import re
from collections.abc import Iterator
from dataclasses import dataclass
from random import Random
from typing import Any

import pytest

from synth.layout import Layout
from synth.medium import DEFAULT_RULES, Cell, Part, Role
from synth.simulator import legality, trace
from synth.simulator.explaining.reasons import Reasons, Situation
from synth.simulator.play import after, dark, frame
from tests.stored import DATA, stored_layout

FOLDER = DATA.parent / "conformance"
TICKS = 24
CELL = r"\((-?\d+),(-?\d+),(-?\d+)\)"


@dataclass(frozen=True)
class Tick:
    """One tick of a trace, beside the situations that the reasons give for it."""

    layout: Layout
    document: dict[str, Any]
    situations: dict[Cell, Situation]

    @property
    def strengths(self) -> dict[Cell, int]:
        return {(x, y, z): strength for x, y, z, strength in self.document["wires"]}

    def listed(self, key: str) -> set[Cell]:
        return {(x, y, z) for x, y, z in self.document[key]}


def legal_layouts() -> dict[str, Layout]:
    found = {}
    for path in sorted(FOLDER.glob("*.json")):
        layout = Layout.from_document(json.loads(path.read_text(encoding="utf-8"))["layout"])
        if not legality(layout):
            found[path.stem] = layout
    return found


LAYOUTS = legal_layouts() | {"and_slice": stored_layout("and_slice")}


def ticks_of(name: str) -> Iterator[Tick]:
    """A play with inputs at random, as a trace and as reasons."""
    layout, rng = LAYOUTS[name], Random(name)
    drive = {pin.name: "".join(rng.choices("01", k=TICKS)) for pin in layout.inputs}
    document = trace(layout, drive, TICKS)
    reasons = Reasons(layout, DEFAULT_RULES)
    state = dark(reasons.fabric)
    for tick in range(TICKS):
        inputs = [int(drive[port.pin.name][tick]) for port in reasons.fabric.inputs]
        shown = frame(reasons.fabric, state, inputs, DEFAULT_RULES)
        told = dict(zip(reasons.cells, reasons.situations(state, shown), strict=True))
        yield Tick(layout, document["ticks"][tick], told)
        state = after(reasons.fabric, state, shown)


def number(groups: tuple[str, ...]) -> Cell:
    x, y, z = map(int, groups[:3])
    return (x, y, z)


@pytest.mark.parametrize("name", LAYOUTS)
def test_values_are_those_of_the_trace(name: str) -> None:
    for tick in ticks_of(name):
        charged, driven, on = (tick.listed(key) for key in ("charged", "driven", "on"))
        for cell, block in tick.layout.cells.items():
            told = tick.situations.get(cell)
            if block.part is Part.WIRE:
                expected = tick.strengths[cell]
            elif block.part is Part.SOLID:
                expected = (cell in charged) + (cell in driven)
            elif block.part in (Part.INVERTER, Part.BUFFER):
                expected = int(cell in on)
            else:
                assert told is None
                continue
            assert told is not None
            assert told.value == expected, (cell, told)
            assert told.text
            assert told.why


def test_the_output_of_a_link_is_on_with_the_buffer_behind_it() -> None:
    (output,) = LAYOUTS["and_slice"].outputs
    values = set()
    for tick in ticks_of("and_slice"):
        told, buffer = tick.situations[output.outside], tick.situations[output.at]
        assert told.value == buffer.value
        assert told.why == f"its back, buffer (0,2,1), is {'on' if buffer.value else 'off'}"
        values.add(told.value)
    assert values == {0, 1}


@pytest.mark.parametrize("name", LAYOUTS)
def test_what_is_said_of_other_cells_is_so(name: str) -> None:
    """Every clause that names a cell and its power is held against the trace of the same tick."""
    for tick in ticks_of(name):
        charged, driven, on = (tick.listed(key) for key in ("charged", "driven", "on"))
        for told in tick.situations.values():
            for clause in told.why.split("; "):
                if found := re.search(rf"wire {CELL}.* strength (\d+)", clause):
                    assert tick.strengths[number(found.groups())] == int(found[4]), clause
                elif found := re.search(rf"wire {CELL}.* has no power", clause):
                    assert tick.strengths[number(found.groups())] == 0, clause
                elif found := re.search(rf"wire {CELL} is powered", clause):
                    assert tick.strengths[number(found.groups())] > 0, clause
                elif found := re.search(rf"solid {CELL}.* is (not )?(charged|driven)", clause):
                    among = driven if found[5] == "driven" else charged
                    assert (number(found.groups()) in among) is (found[4] is None), clause
                elif found := re.search(rf"(?:inverter|buffer) {CELL}.* is (on|off)$", clause):
                    assert (number(found.groups()) in on) is (found[4] == "on"), clause


@pytest.mark.parametrize("name", LAYOUTS)
def test_inverters_tell_of_their_host_now_and_a_tick_ago(name: str) -> None:
    before: set[Cell] | None = None
    for tick in ticks_of(name):
        charged = tick.listed("charged")
        for cell, told in tick.situations.items():
            block = tick.layout.cells.get(cell)
            # In tick 0 all is off without a cause: that is how a trace starts.
            if block is None or block.part is not Part.INVERTER or before is None:
                continue
            assert block.facing is not None
            host = block.facing.step(cell)
            found = re.match(rf"its host {CELL} (is|was) (not )?charged(.*)", told.why)
            assert found is not None, told
            assert number(found.groups()) == host
            then = charged if found[4] == "is" else before
            assert (host in then) is (found[5] is None), told
            assert ("next tick" in found[6]) is ((host in charged) is bool(told.value)), told
        before = charged


@pytest.mark.parametrize("name", LAYOUTS)
def test_what_has_power_names_a_giver(name: str) -> None:
    """A wire that fades names one link more strength; what is powered or charged what is on."""
    for tick in ticks_of(name):
        for cell, told in tick.situations.items():
            block = tick.layout.cells.get(cell)
            if block is None or not told.value:
                continue
            if block.part is Part.WIRE and told.value < DEFAULT_RULES.reach:
                assert f"has strength {told.value + 1}" in told.why, told
            elif block.part is Part.WIRE:
                assert re.search(r"is on\b|is driven\b", told.why), told
            elif block.part is Part.SOLID:
                assert re.search(r"is on\b|strength [1-9]", told.why), told
            assert not re.search(r"\bis off\b|no power", told.why) or block.part is Part.BUFFER


def test_some_layouts_have_every_kind_of_part_and_pin() -> None:
    """The properties above would hold of nothing at all."""
    parts = {block.part for layout in LAYOUTS.values() for block in layout.cells.values()}
    roles = {pin.role for layout in LAYOUTS.values() for pin in layout.pins}
    assert parts == set(Part)
    assert roles == set(Role)
