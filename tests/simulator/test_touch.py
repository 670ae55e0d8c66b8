"""Section 3: links, connections and runs."""

from __future__ import annotations

from itertools import product

import pytest

from synth.layout import Layout
from synth.medium import CLEAR, LEDGE, SOLID, WIRE, Block, Cell, Direction
from synth.simulator import touch
from synth.simulator.row import Row
from tests.simulator.build import STANDING, box, enters, hung, leaves, ticks_of, to


def linked(layout: Layout, cell: Cell) -> set[tuple[Cell, bool, bool]]:
    """Cells linked to a wire, whether it gives strength to them and gets it from them."""
    return {(other, gives, gets) for other, _, gives, gets in touch.links(Row(layout), cell)}


def runs(layout: Layout, cell: Cell) -> set[str]:
    return {str(direction) for direction in touch.runs(Row(layout), cell)}


def test_section_3_level_neighbours_are_linked_both_ways() -> None:
    layout = box((2, 1, 1), {(0, 0, 0): WIRE, (1, 0, 0): WIRE}, ground=True)
    assert linked(layout, (0, 0, 0)) == {((1, 0, 0), True, True)}
    assert linked(layout, (1, 0, 0)) == {((0, 0, 0), True, True)}


def step(support: Block, above: Block | None = None, below: Block = LEDGE) -> Layout:
    """A wire at (0, 0, 1) on ``below`` and one at (1, 0, 2) on ``support``."""
    cells = {(0, 0, 0): below, (0, 0, 1): WIRE, (1, 0, 1): support, (1, 0, 2): WIRE}
    if above is not None:
        cells[0, 0, 2] = above
    return box((2, 1, 3), cells)


@pytest.mark.parametrize(("support", "descends"), [(SOLID, True), (CLEAR, False), (LEDGE, False)])
@pytest.mark.parametrize("below", [SOLID, CLEAR, LEDGE])
def test_section_3_a_diagonal_climbs_and_descends_on_solid_only(
    support: Block, descends: bool, below: Block
) -> None:
    layout = step(support, below=below)
    assert linked(layout, (0, 0, 1)) == {((1, 0, 2), True, descends)}
    assert linked(layout, (1, 0, 2)) == {((0, 0, 1), descends, True)}


@pytest.mark.parametrize("above", [None, CLEAR, LEDGE, SOLID])
def test_section_3_only_a_solid_above_the_lower_wire_cuts(above: Block | None) -> None:
    assert bool(linked(step(SOLID, above), (0, 0, 1))) == (above is not SOLID)
    assert bool(linked(step(SOLID, above), (1, 0, 2))) == (above is not SOLID)


def test_section_3_an_inverter_above_the_lower_wire_does_not_cut() -> None:
    layout = step(SOLID).replace(size=(2, 2, 3))
    layout = layout.with_cells({(0, 1, 2): SOLID, (0, 0, 2): hung("+y")})
    assert linked(layout, (0, 0, 1)) == {((1, 0, 2), True, True)}


def test_section_3_a_wire_two_steps_up_is_not_linked() -> None:
    cells = {(0, 0, 0): WIRE, (1, 0, 1): SOLID, (1, 0, 2): WIRE}
    assert linked(box((2, 1, 3), cells, ground=True), (0, 0, 0)) == set()


def test_section_3_diagonals_within_a_level_are_not_linked() -> None:
    layout = box((2, 2, 1), {(0, 0, 0): WIRE, (1, 1, 0): WIRE}, ground=True)
    assert linked(layout, (0, 0, 0)) == set()


def beside(block: Block, at: str) -> Layout:
    """A wire in the middle of a 5 x 5 ground with one block beside it, and hosts farther out."""
    cells = {(2, 2, 0): WIRE, Direction(at).step((2, 2, 0)): block}
    far = Direction(at).step(Direction(at).step((2, 2, 0)))
    cells[far] = SOLID
    for side in Direction(at).sides:
        cells[side.step(Direction(at).step((2, 2, 0)))] = SOLID
    return box((5, 5, 1), cells, ground=True)


@pytest.mark.parametrize("at", ["+x", "-x", "+y", "-y"])
def test_section_3_what_a_wire_connects_to(at: str) -> None:
    along = {at, str(Direction(at).opposite)}
    every = {"+x", "-x", "+y", "-y"}
    sides = [str(side) for side in Direction(at).sides]
    assert runs(beside(WIRE, at), (2, 2, 0)) == along
    for host in (at, *sides):
        assert runs(beside(hung(host), at), (2, 2, 0)) == along
    assert runs(beside(to(at), at), (2, 2, 0)) == along
    assert runs(beside(to(str(Direction(at).opposite)), at), (2, 2, 0)) == along
    for side in sides:
        assert runs(beside(to(side), at), (2, 2, 0)) == every
    for block in (SOLID, CLEAR, LEDGE):
        assert runs(beside(block, at), (2, 2, 0)) == every


def test_section_3_runs_towards_all_it_connects_to_when_several() -> None:
    places = {"+x": (2, 1, 0), "-x": (0, 1, 0), "+y": (1, 2, 0), "-y": (1, 0, 0)}
    for chosen in product((False, True), repeat=4):
        names = {name for name, used in zip(places, chosen, strict=True) if used}
        cells = {(1, 1, 0): WIRE} | {places[name]: WIRE for name in names}
        if len(names) >= 2:
            assert runs(box((3, 3, 1), cells, ground=True), (1, 1, 0)) == names


def test_section_3_a_link_up_or_down_shapes_the_run_whichever_way_strength_goes() -> None:
    assert runs(step(CLEAR), (0, 0, 1)) == {"+x", "-x"}
    assert runs(step(CLEAR), (1, 0, 2)) == {"+x", "-x"}
    assert runs(step(CLEAR, SOLID), (0, 0, 1)) == {"+x", "-x", "+y", "-y"}


def test_section_3_an_inverter_above_or_below_does_not_connect() -> None:
    cells = {(0, 0, 0): SOLID, (0, 0, 1): WIRE, (1, 0, 2): SOLID, (0, 0, 2): hung("+x")}
    assert runs(box((2, 1, 3), cells), (0, 0, 1)) == {"+x", "-x", "+y", "-y"}


def test_section_3_a_lead_connects_outwards_so_it_runs_inwards_too() -> None:
    layout = box((1, 1, 1), {(0, 0, 0): SOLID}, enters("a", (0, 0, 0), "-x"))
    assert runs(layout, (-1, 0, 0)) == {"+x", "-x"}


def test_section_6_an_outside_buffer_connects_a_wire_at_the_pin() -> None:
    for pin in (enters("a", (0, 0, 0), "-x", "buffer"), leaves("q", (0, 0, 0), "-x", "buffer")):
        layout = box((1, 1, 1), {(0, 0, 0): WIRE}, pin, ground=True)
        assert runs(layout, (0, 0, 0)) == {"+x", "-x"}


def test_section_3_clear_passes_a_signal_up_not_down() -> None:
    up = step(CLEAR).replace(pins=(enters("a", (0, 0, 1), "-x"),))
    assert ticks_of(up, 1, a="1")[0]["powered"] == {(0, 0, 1): 14, (1, 0, 2): 13}
    down = step(CLEAR).replace(pins=(enters("a", (1, 0, 2), "+x"),))
    assert ticks_of(down, 1, a="1")[0]["powered"] == {(0, 0, 1): 0, (1, 0, 2): 14}


def test_section_3_a_standing_inverter_beside_a_wire_connects_it() -> None:
    cells = {(0, 0, 0): LEDGE, (0, 0, 1): WIRE, (1, 0, 0): SOLID, (1, 0, 1): STANDING}
    assert runs(box((2, 1, 2), cells), (0, 0, 1)) == {"+x", "-x"}
