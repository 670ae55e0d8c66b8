"""Section 6: what stands outside a pin, sentence by sentence."""

from __future__ import annotations

import pytest

from synth.medium import CLEAR, LEDGE, SOLID, WIRE, Block
from synth.simulator import trace
from tests.simulator.build import STANDING, box, enters, hung, leaves, read_out, ticks_of, to


def test_section_6_a_lead_charges_a_solid_at_the_pin() -> None:
    layout = box((1, 1, 1), {(0, 0, 0): SOLID}, enters("a", (0, 0, 0), "-x"))
    tick = ticks_of(layout, 1, a="1")[0]
    assert (tick["charged"], tick["driven"]) == ({(0, 0, 0)}, set())


def test_section_6_a_lead_feeds_a_buffer_that_points_inwards() -> None:
    pins = enters("a", (0, 0, 0), "-x"), leaves("q", (0, 0, 0), "+x")
    for facing, expected in (("+x", "001111"), ("-x", "000000"), ("+y", "000000")):
        layout = box((1, 1, 1), {(0, 0, 0): to(facing)}, *pins, ground=True)
        assert read_out(layout, a="01", ticks=6) == expected


def test_section_6_a_lead_joins_a_wire_at_the_pin() -> None:
    layout = box((1, 1, 1), {(0, 0, 0): WIRE}, enters("a", (0, 0, 0), "-x"), ground=True)
    assert ticks_of(layout, 1, a="1")[0]["powered"] == {(0, 0, 0): 14}


@pytest.mark.parametrize("under", [SOLID, CLEAR, LEDGE])
def test_section_6_a_lead_climbs_to_a_wire_on_top_of_the_pin_cell(under: Block) -> None:
    cells = {(0, 0, 0): under, (0, 0, 1): WIRE}
    layout = box((1, 1, 2), cells, enters("a", (0, 0, 0), "-x"))
    assert ticks_of(layout, 1, a="1")[0]["powered"] == {(0, 0, 1): 14}


@pytest.mark.parametrize("under", [SOLID, CLEAR, LEDGE])
def test_section_6_a_lead_is_lit_from_on_top_only_over_a_solid(under: Block) -> None:
    cells = {(0, 0, 0): under, (0, 0, 1): WIRE}
    pins = enters("a", (0, 0, 1), "+x"), leaves("q", (0, 0, 0), "-x")
    layout = box((1, 1, 2), cells, *pins)
    assert read_out(layout, a="1", ticks=1) == ("1" if under is SOLID else "0")


@pytest.mark.parametrize("at_pin", [None, CLEAR, LEDGE, SOLID])
def test_section_6_a_lead_is_lit_from_below_unless_the_pin_cell_is_solid(
    at_pin: Block | None,
) -> None:
    cells = {(0, 0, 0): WIRE} | ({} if at_pin is None else {(0, 0, 1): at_pin})
    pins = enters("a", (0, 0, 0), "+x"), leaves("q", (0, 0, 1), "-x")
    layout = box((1, 1, 2), cells, *pins, ground=True)
    assert read_out(layout, a="1", ticks=1) == ("0" if at_pin is SOLID else "1")


def test_section_6_a_lead_does_not_descend() -> None:
    """It lies on a ledge, so it gives a wire below the pin's cell nothing."""
    layout = box((1, 1, 2), {(0, 0, 0): WIRE}, enters("a", (0, 0, 1), "-x"), ground=True)
    assert ticks_of(layout, 1, a="1")[0]["powered"] == {(0, 0, 0): 0}


@pytest.mark.parametrize(
    ("block", "host"), [(STANDING, (0, 0, 0)), (hung("+y"), (0, 1, 1)), (hung("+x"), (1, 0, 1))]
)
def test_section_6_a_lead_is_lit_by_an_inverter_at_the_pin(
    block: Block, host: tuple[int, int, int]
) -> None:
    cells = {(0, 0, 1): block, host: SOLID}
    layout = box((2, 2, 2), cells, leaves("q", (0, 0, 1), "-x"))
    assert read_out(layout, ticks=3) == "011"


def test_section_6_a_lead_is_lit_by_a_driven_solid_not_by_a_charged_one() -> None:
    pins = enters("a", (0, 0, 0), "-x", "buffer"), leaves("q", (0, 0, 0), "-y")
    assert read_out(box((1, 1, 1), {(0, 0, 0): SOLID}, *pins), a="01", ticks=3) == "011"
    pins = enters("a", (0, 0, 0), "-x"), leaves("q", (0, 0, 0), "-y")
    assert read_out(box((1, 1, 1), {(0, 0, 0): SOLID}, *pins), a="01", ticks=3) == "000"


def test_section_6_a_lead_is_lit_by_a_buffer_that_points_outwards() -> None:
    pins = enters("a", (0, 0, 0), "+x"), leaves("q", (0, 0, 0), "-x")
    layout = box((1, 1, 1), {(0, 0, 0): to("-x")}, *pins, ground=True)
    assert read_out(layout, a="0110", ticks=5) == "00110"


def test_section_6_an_input_buffer_drives_what_it_points_into() -> None:
    layout = box((1, 1, 1), {(0, 0, 0): SOLID}, enters("a", (0, 0, 0), "-x", "buffer"))
    tick = ticks_of(layout, 1, a="1")[0]
    assert tick["driven"] == {(0, 0, 0)}
    layout = box((1, 1, 1), {(0, 0, 0): WIRE}, enters("a", (0, 0, 0), "-x", "buffer"), ground=True)
    assert ticks_of(layout, 1, a="1")[0]["powered"] == {(0, 0, 0): 15}


def test_section_6_an_input_buffer_feeds_a_buffer_that_points_the_same_way() -> None:
    pins = enters("a", (0, 0, 0), "-x", "buffer"), leaves("q", (0, 0, 0), "+x", "buffer")
    for facing, expected in (("+x", "001"), ("-x", "000"), ("+y", "000")):
        layout = box((1, 1, 1), {(0, 0, 0): to(facing)}, *pins, ground=True)
        assert read_out(layout, a="01", ticks=3) == expected


def test_section_6_an_output_buffer_reads_power_at_the_pin_without_delay() -> None:
    pins = enters("a", (0, 0, 0), "-x"), leaves("q", (0, 0, 0), "+x", "buffer")
    wire = box((1, 1, 1), {(0, 0, 0): WIRE}, *pins, ground=True)
    assert read_out(wire, a="010", ticks=3) == "010"
    charged = box((1, 1, 1), {(0, 0, 0): SOLID}, *pins)
    assert read_out(charged, a="010", ticks=3) == "010"
    aligned = box((1, 1, 1), {(0, 0, 0): to("+x")}, *pins, ground=True)
    assert read_out(aligned, a="010", ticks=3) == "001"
    empty = box((1, 1, 1), {}, *pins)
    assert read_out(empty, a="010", ticks=3) == "000"


def test_section_6_an_output_buffer_reads_an_inverter_but_no_crossing_buffer() -> None:
    out = leaves("q", (0, 0, 1), "+x", "buffer")
    inverter = box((1, 1, 2), {(0, 0, 0): SOLID, (0, 0, 1): STANDING}, out)
    assert read_out(inverter, ticks=3) == "011"
    pins = enters("a", (0, 0, 0), "-y"), leaves("q", (0, 0, 0), "+x", "buffer")
    crossing = box((1, 1, 1), {(0, 0, 0): to("+y")}, *pins, ground=True)
    assert read_out(crossing, a="01", ticks=4) == "0000"


def test_section_6_an_output_buffer_powers_nothing() -> None:
    pins = (
        enters("a", (1, 0, 0), "+x"),
        leaves("q", (0, 0, 0), "-x", "buffer"),
        leaves("r", (0, 0, 0), "-y"),
    )
    layout = box((2, 1, 1), {(1, 0, 0): WIRE, (0, 0, 0): SOLID}, *pins, ground=True)
    document = trace(layout, {"a": "1"}, 2)
    assert document["outputs"] == {"q": "11", "r": "00"}


def test_section_6_a_fed_back_lead_carries_it_on() -> None:
    """The lead of b is powered by the wire below its pin's cell and climbs to the one on top."""
    cells = {(0, 0, 0): WIRE, (0, 0, 1): CLEAR, (0, 0, 2): WIRE}
    pins = enters("a", (0, 0, 0), "+x"), enters("b", (0, 0, 1), "-x"), leaves("q", (0, 0, 2), "+x")
    layout = box((1, 1, 3), cells, *pins, ground=True)
    assert read_out(layout, a="0101", b="0011", ticks=4) == "0111"
    assert ticks_of(layout, 1, a="1", b="0")[0]["powered"] == {(0, 0, 0): 14, (0, 0, 2): 12}
    without = layout.replace(pins=(pins[0], pins[2]))
    assert read_out(without, a="0101", ticks=4) == "0000"


def test_section_6_traces_name_only_cells_inside_the_box() -> None:
    layout = box((1, 1, 1), {}, enters("a", (0, 0, 0), "-x"), leaves("q", (0, 0, 0), "+x"))
    ticks = ticks_of(layout, 2, a="1")
    assert all(
        tick["wires"] == [] and not tick["on"] and not tick["charged"] and not tick["driven"]
        for tick in ticks
    )


def test_section_6_the_ledge_under_a_lead_is_there_below_height_0() -> None:
    """A pin at height 0 without ground is legal, its lead powers the wire on top of its cell."""
    layout = box((1, 1, 2), {(0, 0, 0): CLEAR, (0, 0, 1): WIRE}, enters("a", (0, 0, 0), "-x"))
    assert ticks_of(layout, 1, a="1")[0]["powered"] == {(0, 0, 1): 14}
