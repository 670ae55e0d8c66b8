"""Section 5, settling: the three-valued play."""

from __future__ import annotations

import pytest

from synth.errors import InputError
from synth.layout import Layout
from synth.medium import CLEAR, LEDGE, SOLID, WIRE, Rules
from synth.simulator import check, settle
from synth.simulator.settling import MAX_SETTLED_INPUTS, input_masks
from tests.simulator.build import STANDING, box, enters, hung, leaves, to


def test_the_first_input_is_the_most_significant_bit() -> None:
    assert input_masks(0) == []
    assert input_masks(1) == [0b10]
    assert input_masks(3) == [0b11110000, 0b11001100, 0b10101010]


def test_section_5_at_tick_0_every_inverter_and_buffer_is_unknown() -> None:
    cells = {(0, 0, 0): SOLID, (0, 0, 1): STANDING, (1, 0, 0): LEDGE, (1, 0, 1): to("+x")}
    settled = settle(box((2, 1, 2), cells, enters("a", (0, 0, 0), "-x")))
    for cell in ((0, 0, 1), (1, 0, 1)):
        assert settled.surely(cell, 0) == 0
        assert settled.possibly(cell, 0) == settled.full == 0b11
    # The host of the first is known at once, so is the inverter a tick later.
    assert settled.surely((0, 0, 0), 0) == settled.possibly((0, 0, 0), 0) == 0b10
    assert settled.surely((0, 0, 1), 1) == settled.possibly((0, 0, 1), 1) == 0b01


@pytest.mark.parametrize("delay", [1, 2, 3, 4])
def test_section_5_windows_of_a_buffer(delay: int) -> None:
    """Surely on after k ticks of power, known off only after 2k - 1 without."""
    pins = enters("a", (0, 0, 0), "-x"), leaves("q", (0, 0, 0), "+x")
    layout = box((1, 1, 1), {(0, 0, 0): to("+x", delay)}, *pins, ground=True)
    settled = settle(layout)
    for tick in range(12):
        assert settled.surely((0, 0, 0), tick) == (0b10 if tick >= delay else 0)
        assert settled.possibly((0, 0, 0), tick) == (0b10 if tick >= 2 * delay - 1 else 0b11)
    assert check(layout).delay == 2 * delay - 1


def test_section_5_a_buffer_that_can_be_held_is_never_known() -> None:
    """Not even where the buffer that points into its side is known to be off."""
    cells = {(0, 1, 0): to("+x"), (0, 0, 0): to("+y")}
    pins = enters("a", (0, 1, 0), "-x"), leaves("q", (0, 1, 0), "+x")
    verdict = check(box((1, 2, 1), cells, *pins, ground=True))
    assert (verdict.outputs, verdict.delay, verdict.faults) == ({"q": "xx"}, None, ())


def test_section_5_the_outside_buffer_of_an_input_can_hold() -> None:
    pins = (
        enters("a", (0, 0, 0), "-x"),
        enters("b", (0, 0, 0), "-y", "buffer"),
        leaves("q", (0, 0, 0), "+x"),
    )
    layout = box((1, 1, 1), {(0, 0, 0): to("+x")}, *pins, ground=True)
    assert check(layout).outputs == {"q": "xxxx"}


def long_line(length: int) -> Layout:
    pins = enters("a", (0, 0, 0), "-x"), leaves("q", (length - 1, 0, 0), "+x")
    return box((length, 1, 1), {(x, 0, 0): WIRE for x in range(length)}, *pins, ground=True)


def test_section_5_no_layout_may_count_on_a_signal_dying_out() -> None:
    """13 wires lie between two leads, the last of which gets 15 - 14; one more, and it is x."""
    near, far = check(long_line(13)), check(long_line(14))
    assert (near.outputs, near.delay) == ({"q": "01"}, 0)
    assert check(long_line(13), rules=Rules(reach=14)).outputs == {"q": "0x"}
    assert check(long_line(13), rules=Rules(reach=15)).outputs == {"q": "01"}
    assert (far.outputs, far.delay) == ({"q": "0x"}, None)


def test_section_5_strength_is_possible_along_links_in_their_direction_only() -> None:
    cells = {(0, 0, 0): LEDGE, (0, 0, 1): WIRE, (1, 0, 1): CLEAR, (1, 0, 2): WIRE}
    pins = enters("a", (1, 0, 2), "+x"), leaves("q", (0, 0, 1), "-x")
    assert check(box((2, 1, 3), cells, *pins)).outputs == {"q": "00"}


def test_section_5_an_input_that_is_fed_back() -> None:
    pins = enters("a", (0, 0, 0), "-x"), enters("b", (0, 0, 0), "-y"), leaves("q", (0, 0, 0), "+x")
    verdict = check(box((1, 1, 1), {(0, 0, 0): WIRE}, *pins, ground=True))
    assert verdict.outputs == {"q": "0111"}
    assert (verdict.delay, verdict.fed_back) == (None, ("a", "b"))
    assert "input 'a' is fed back: at a=0 b=1" in verdict.faults[0].text


def test_section_6_an_input_with_a_buffer_is_never_fed_back() -> None:
    pins = (
        enters("a", (0, 0, 0), "-x", "buffer"),
        enters("b", (0, 0, 0), "-y", "buffer"),
        leaves("q", (0, 0, 0), "+x"),
    )
    verdict = check(box((1, 1, 1), {(0, 0, 0): WIRE}, *pins, ground=True))
    assert (verdict.outputs, verdict.delay, verdict.passes) == ({"q": "0111"}, 0, True)


def test_section_5_delay_0_may_be_met() -> None:
    assert check(long_line(1)).delay == 0


def test_section_5_a_ring_that_holds_a_bit_is_never_known() -> None:
    """A wire charges the host of one inverter, which drives the host of the other, which powers
    the wire.
    """
    cells = {
        (0, 0, 1): SOLID,
        (1, 0, 1): hung("-x"),
        (1, 0, 2): SOLID,
        (2, 0, 2): hung("-x"),
        (2, 1, 1): SOLID,
        (2, 1, 2): WIRE,
    }
    for x, y in ((2, 2), (1, 2), (0, 2), (0, 1)):
        cells |= {(x, y, 0): LEDGE, (x, y, 1): WIRE}
    layout = box((3, 3, 3), cells, leaves("q", (0, 2, 1), "+y"))
    verdict = check(layout)
    assert (verdict.outputs, verdict.delay) == ({"q": "x"}, None)
    # With a wire left out the ring is open and all is known.
    cut = check(layout.with_cells({(1, 2, 1): None}))
    assert (cut.outputs, cut.delay) == ({"q": "0"}, 0)


def test_settling_refuses_too_many_inputs() -> None:
    count = MAX_SETTLED_INPUTS + 1
    pins = [enters(f"i{n}", (0, 2 * n, 0), "-x", "buffer") for n in range(count)]
    layout = box((1, 2 * count, 1), {}, *pins)
    with pytest.raises(InputError, match=f"{count} inputs are too many to settle"):
        settle(layout)


def test_reads_of_pins_and_of_driven_solids() -> None:
    pins = enters("a", (0, 0, 0), "-x", "buffer"), leaves("q", (0, 0, 0), "+x")
    settled = settle(box((1, 1, 1), {(0, 0, 0): SOLID}, *pins))
    assert settled.surely_driven((0, 0, 0), 0) == settled.possibly_driven((0, 0, 0), 0) == 0b10
    assert settled.surely_lead("q", 0) == settled.possibly_lead("q", 5) == 0b10
    assert settled.surely_reads("q", 0) == settled.possibly_reads("q", 0) == 0b10
    with pytest.raises(KeyError, match="has a buffer outside, not a lead"):
        settled.surely_lead("a", 0)
