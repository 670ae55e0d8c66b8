"""Section 4: power at one instant."""

from __future__ import annotations

import pytest

from synth.medium import CLEAR, LEDGE, SOLID, WIRE, Block, Cell, Direction, Rules
from synth.simulator import trace
from tests.simulator.build import (
    STANDING,
    box,
    enters,
    hung,
    leaves,
    read_out,
    ticks_of,
    to,
)


def line(length: int) -> dict[Cell, Block]:
    return {(x, 0, 0): WIRE for x in range(length)}


def test_section_4_strength_fades_by_one_a_step() -> None:
    layout = box((17, 1, 1), line(17), enters("a", (0, 0, 0), "-x"), ground=True)
    powered = ticks_of(layout, 1, a="1")[0]["powered"]
    assert [powered[x, 0, 0] for x in range(17)] == [*range(14, 0, -1), 0, 0, 0]


@pytest.mark.parametrize("reach", [1, 2, 5])
def test_section_2_reach_is_a_parameter(reach: int) -> None:
    layout = box((6, 1, 1), line(6), enters("a", (0, 0, 0), "-x"), ground=True)
    document = trace(layout, {"a": "1"}, 1, rules=Rules(reach=reach))
    found = [strength for *_, strength in document["ticks"][0]["wires"]]
    assert found == [max(reach - 1 - x, 0) for x in range(6)]


def test_section_4_a_wire_takes_the_strongest_it_receives() -> None:
    pins = enters("a", (0, 0, 0), "-x"), enters("b", (4, 0, 0), "+x")
    layout = box((5, 1, 1), line(5), *pins, ground=True)
    powered = ticks_of(layout, 1, a="1", b="1")[0]["powered"]
    assert [powered[x, 0, 0] for x in range(5)] == [14, 13, 12, 13, 14]


@pytest.mark.parametrize("direction", list(Direction))
def test_section_4_a_driven_solid_powers_all_six_neighbours(direction: Direction) -> None:
    """The solid is driven from a side that leaves the neighbour in question free."""
    at = (2, 2, 2)
    wire = direction.step(at)
    entry = Direction.PY if direction.axis == "x" else Direction.PX
    cells: dict[Cell, Block] = {at: SOLID, wire: WIRE}
    if direction is not Direction.PZ:
        cells[Direction.NZ.step(wire)] = LEDGE
    # Drive it with a buffer that an input feeds from behind.
    source = entry.opposite.step(at)
    cells[source] = to(str(entry))
    cells[Direction.NZ.step(source)] = LEDGE
    behind = entry.opposite.step(source)
    face = str(entry.opposite)
    layout = box((5, 5, 5), cells, enters("a", behind, face, "buffer"))
    layout = layout.with_cells({behind: to(str(entry)), Direction.NZ.step(behind): LEDGE})
    tick = ticks_of(layout, 4, a="1")[3]
    assert tick["driven"] == {at}
    assert tick["powered"][wire] == 15


def test_section_4_a_charged_solid_powers_no_wire() -> None:
    cells = {(0, 0, 0): SOLID, (1, 0, 0): WIRE}
    layout = box((2, 1, 1), cells, enters("a", (0, 0, 0), "-x"), ground=True)
    tick = ticks_of(layout, 1, a="1")[0]
    assert tick["charged"] == {(0, 0, 0)}
    assert tick["driven"] == set()
    assert tick["powered"] == {(1, 0, 0): 0}


def test_section_4_a_wire_charges_the_solid_below_and_those_it_runs_towards() -> None:
    cells = {
        (0, 1, 1): WIRE,
        (1, 1, 1): WIRE,
        (0, 1, 0): SOLID,
        (1, 1, 0): SOLID,
        (2, 1, 1): SOLID,
        (1, 0, 1): SOLID,
        (1, 2, 1): SOLID,
        (0, 1, 2): SOLID,
    }
    layout = box((3, 3, 3), cells, enters("a", (0, 1, 1), "-x"))
    tick = ticks_of(layout, 1, a="1")[0]
    assert tick["charged"] == {(0, 1, 0), (1, 1, 0), (2, 1, 1)}
    assert tick["driven"] == set()


@pytest.mark.parametrize("block", [CLEAR, LEDGE])
def test_section_2_clear_and_ledge_are_never_charged(block: Block) -> None:
    cells = {(0, 0, 0): block, (0, 0, 1): WIRE}
    layout = box((1, 1, 2), cells, enters("a", (0, 0, 1), "-x"))
    assert ticks_of(layout, 1, a="1")[0]["charged"] == set()


@pytest.mark.parametrize("on", ["-x", "+x", "-z"])
def test_section_4_an_inverter_drives_the_solid_above_however_it_hangs(on: str) -> None:
    cells = {(1, 0, 1): hung(on), (1, 0, 2): SOLID, Direction(on).step((1, 0, 1)): SOLID}
    ticks = ticks_of(box((3, 1, 3), cells), 2)
    assert ticks[0]["driven"] == set()
    assert ticks[1]["driven"] == ticks[1]["charged"] == {(1, 0, 2)}


def test_section_4_an_inverter_powers_wires_beside_and_below_it_not_above() -> None:
    middle = (1, 1, 2)
    cells = {middle: hung("+y"), (1, 2, 2): SOLID}
    for cell in ((0, 1, 2), (2, 1, 2), (1, 0, 2), (1, 1, 1)):
        cells[cell] = WIRE
        cells[Direction.NZ.step(cell)] = LEDGE
    cells[1, 1, 3] = CLEAR
    cells[1, 1, 4] = WIRE
    tick = ticks_of(box((3, 3, 5), cells), 2)[1]
    assert tick["on"] == {middle}
    assert {cell for cell, strength in tick["powered"].items() if strength == 15} == {
        (0, 1, 2),
        (2, 1, 2),
        (1, 0, 2),
        (1, 1, 1),
    }
    assert tick["powered"][1, 1, 4] == 0


def test_section_4_an_inverter_powers_no_host_nor_solids_beside_or_below() -> None:
    cells = {(1, 1, 1): hung("+x"), (2, 1, 1): SOLID, (0, 1, 1): SOLID, (1, 0, 1): SOLID}
    cells[1, 1, 0] = SOLID
    tick = ticks_of(box((3, 2, 2), cells), 3)[2]
    assert tick["on"] == {(1, 1, 1)}
    assert tick["charged"] == set()


def test_section_4_an_inverter_does_not_switch_another() -> None:
    cells = {(0, 0, 0): SOLID, (0, 0, 1): STANDING, (1, 0, 0): SOLID, (1, 0, 1): STANDING}
    assert ticks_of(box((2, 1, 2), cells), 3)[2]["on"] == {(0, 0, 1), (1, 0, 1)}


def seen_by_buffer(back: Block, *more: tuple[Cell, Block], **pins: str) -> str:
    """What a buffer to +x at (2, 1, 1) with ``back`` behind it gives, input at -x of the back."""
    cells = {(1, 1, 0): LEDGE, (2, 1, 0): LEDGE, (2, 1, 1): to("+x"), (1, 1, 1): back}
    cells |= dict(more)
    layout = box(
        (3, 3, 3),
        cells,
        enters("a", (0, 1, 1), "-x", pins.get("joint", "buffer")),
        leaves("q", (2, 1, 1), "+x", "buffer"),
    )
    return read_out(layout, a="0111", ticks=6)


def test_section_4_a_buffer_sees_a_lit_wire_behind_it() -> None:
    assert seen_by_buffer(WIRE, ((0, 1, 1), WIRE), ((0, 1, 0), LEDGE)) == "001111"


def test_section_4_a_buffer_sees_a_wire_that_does_not_run_towards_it() -> None:
    """The wire behind connects to both sides across, and to the buffer along: any is seen."""
    cells = {(0, 0, 0): WIRE, (1, 0, 0): WIRE, (1, 1, 0): to("+y")}
    layout = box(
        (2, 2, 1),
        cells,
        enters("a", (0, 0, 0), "-x"),
        leaves("q", (1, 1, 0), "+y", "buffer"),
        ground=True,
    )
    assert read_out(layout, a="0111", ticks=6) == "001111"


def test_section_4_a_buffer_sees_a_charged_solid_behind_it() -> None:
    charged = seen_by_buffer(SOLID, ((0, 1, 1), WIRE), ((0, 1, 0), LEDGE))
    assert charged == "001111"


def test_section_4_a_buffer_sees_an_inverter_behind_it() -> None:
    assert seen_by_buffer(hung("-x"), ((0, 1, 1), SOLID)) == "001000"


@pytest.mark.parametrize(("facing", "seen"), [("+x", True), ("-x", False), ("+y", False)])
def test_section_4_a_buffer_sees_only_aligned_buffers(facing: str, seen: bool) -> None:
    back = Direction(facing).opposite.step((1, 1, 1))
    if seen:
        # A buffer between: the input two cells back comes two ticks later.
        assert seen_by_buffer(to(facing), ((0, 1, 1), SOLID)) == "000111"
        return
    # The one behind is fed by an inverter that is on at its back; it does not point along +x.
    cells: dict[Cell, Block] = {
        (1, 1, 1): to(facing),
        (1, 1, 0): LEDGE,
        (2, 1, 1): to("+x"),
        (2, 1, 0): LEDGE,
    }
    if back != (2, 1, 1):
        cells[back] = STANDING
        cells[Direction.NZ.step(back)] = SOLID
    layout = box((3, 3, 3), cells, leaves("q", (2, 1, 1), "+x", "buffer"))
    ticks = ticks_of(layout, 6)
    assert ((1, 1, 1) in ticks[5]["on"]) == (back != (2, 1, 1))
    assert ticks[5]["out"] == {"q": "0"}


@pytest.mark.parametrize("back", [CLEAR, LEDGE])
def test_section_4_a_buffer_sees_nothing_through_see_through_blocks(back: Block) -> None:
    assert seen_by_buffer(back) == "000000"


def test_section_4_a_buffer_powers_only_its_front() -> None:
    cells = {(1, 1, 0): to("+x"), (2, 1, 0): WIRE, (1, 0, 0): WIRE, (1, 2, 0): WIRE}
    layout = box((3, 3, 1), cells, enters("a", (0, 1, 0), "-x", "buffer"), ground=True)
    layout = layout.with_cells({(0, 1, 0): WIRE})
    tick = ticks_of(layout, 4, a="1")[3]
    assert tick["powered"] == {(0, 1, 0): 15, (2, 1, 0): 15, (1, 0, 0): 0, (1, 2, 0): 0}


def test_section_4_a_loop_of_wire_does_not_keep_itself_powered() -> None:
    ring = [(x, y, 0) for x in range(3) for y in range(3) if (x, y) != (1, 1)]
    layout = box((3, 3, 1), dict.fromkeys(ring, WIRE), enters("a", (0, 0, 0), "-x"), ground=True)
    ticks = ticks_of(layout, 2, a="10")
    assert all(ticks[0]["powered"].values())
    assert not any(ticks[1]["powered"].values())
