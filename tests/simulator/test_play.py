"""Section 5: time."""

from __future__ import annotations

from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from synth.layout import Layout
from synth.medium import SOLID, WIRE
from synth.simulator.play import after_buffer
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


def delayed(delay: int) -> Layout:
    """One buffer from the lead of a to an outside buffer q."""
    pins = enters("a", (0, 0, 0), "-x"), leaves("q", (0, 0, 0), "+x", "buffer")
    return box((1, 1, 1), {(0, 0, 0): to("+x", delay)}, *pins, ground=True)


def test_section_5_a_trace_starts_dark() -> None:
    cells = {(0, 0, 0): SOLID, (0, 0, 1): STANDING}
    ticks = ticks_of(box((1, 1, 2), cells), 3)
    assert [tick["on"] for tick in ticks] == [set(), {(0, 0, 1)}, {(0, 0, 1)}]


def test_section_5_an_inverter_answers_a_tick_later() -> None:
    pins = enters("a", (0, 0, 0), "-x"), leaves("q", (0, 0, 1), "+x")
    layout = box((1, 1, 2), {(0, 0, 0): SOLID, (0, 0, 1): STANDING}, *pins)
    assert read_out(layout, a="0110010", ticks=8) == "01001101"


@pytest.mark.parametrize("delay", [1, 2, 3, 4])
def test_section_5_a_long_pulse_comes_out_k_ticks_later(delay: int) -> None:
    word = "00" + "1" * 6 + "0" * 12
    assert read_out(delayed(delay), a=word, ticks=20) == ("0" * delay + word)[:20]


@pytest.mark.parametrize("delay", [2, 3, 4])
def test_section_5_a_short_on_pulse_comes_out_k_long(delay: int) -> None:
    for length in range(1, delay):
        word = "0" + "1" * length + "0" * 15
        out = "0" * (1 + delay) + "1" * delay
        assert read_out(delayed(delay), a=word, ticks=16) == out.ljust(16, "0")


@pytest.mark.parametrize("delay", [2, 3, 4])
def test_section_5_a_short_off_pulse_is_swallowed(delay: int) -> None:
    for length in range(1, delay):
        word = "1" * 6 + "0" * length + "1" * 10
        out = "0" * delay + "1" * 16
        assert read_out(delayed(delay), a=word, ticks=16) == out[:16]


@given(st.text("01", min_size=1, max_size=30))
def test_section_5_a_buffer_of_one_tick_gives_what_it_saw(word: str) -> None:
    ticks = len(word) + 1
    assert read_out(delayed(1), a=word, ticks=ticks) == "0" + word


def held(delay: int = 1) -> Layout:
    """The buffer of ``delayed`` at y = 1, and one into its side that b feeds."""
    cells = {(0, 1, 0): to("+x", delay), (0, 0, 0): to("+y")}
    return box(
        (1, 2, 1),
        cells,
        enters("a", (0, 1, 0), "-x", "buffer"),
        enters("b", (0, 0, 0), "-y", "buffer"),
        leaves("q", (0, 1, 0), "+x", "buffer"),
        ground=True,
    )


def test_section_5_a_held_buffer_keeps_its_output() -> None:
    """Hold is on a tick after b: ticks 3 to 5; q keeps what it gives at 3 to tick 6."""
    assert read_out(held(), a="0110111", b="0011100", ticks=9) == "001111111"
    assert read_out(held(), a="0001111", b="0011100", ticks=9) == "000000011"


def test_section_5_hold_drops_a_pending_change_even_one_due_next_tick() -> None:
    """The change set at tick 1 is due at 3; held at tick 2, it is set again at 3, due at 5."""
    assert read_out(held(2), a="01111111", b="01000000", ticks=8) == "00000111"
    assert read_out(held(2), a="01111111", b="00000000", ticks=8) == "00011111"


def test_section_5_a_buffer_that_is_off_does_not_hold() -> None:
    assert read_out(held(), a="0101010", b="0", ticks=8) == "00101010"


def test_section_6_the_outside_buffer_of_an_input_holds_at_once() -> None:
    """It is on exactly while the input is on: no tick of delay of its own."""
    cells = {(0, 0, 0): to("+x")}
    layout = box(
        (1, 1, 1),
        cells,
        enters("a", (0, 0, 0), "-x", "buffer"),
        enters("b", (0, 0, 0), "-y", "buffer"),
        leaves("q", (0, 0, 0), "+x", "buffer"),
        ground=True,
    )
    assert read_out(layout, a="0111", b="0110", ticks=6) == "000011"


def test_section_5_an_on_buffer_goes_off_only_if_it_sees_no_power_when_due() -> None:
    assert after_buffer(1, 1, delay=3, held=False, sees=1) == (1, 0)
    assert after_buffer(1, 1, delay=3, held=False, sees=0) == (0, 0)
    assert after_buffer(0, 1, delay=3, held=False, sees=0) == (1, 0)


@given(
    st.integers(0, 1),
    st.integers(1, 4),
    st.lists(st.tuples(st.integers(0, 1), st.booleans()), min_size=1, max_size=40),
)
def test_section_5_a_buffer_never_changes_sooner_than_its_delay(
    output: int, delay: int, past: list[tuple[int, bool]]
) -> None:
    """Once it has changed, at least ``delay`` ticks pass until it changes again."""
    wait, changes = 0, []
    for tick, (sees, is_held) in enumerate(past):
        before = output
        output, wait = after_buffer(output, wait, delay=delay, held=is_held, sees=sees)
        assert 0 <= wait < delay
        if output != before:
            changes.append(tick + 1)
    assert all(later - earlier >= delay for earlier, later in pairwise(changes))


def test_section_5_a_ring_of_one_inverter_oscillates() -> None:
    """It hangs on the side of a solid; the wire it powers leads back onto that solid."""
    cells = {
        (1, 0, 1): SOLID,
        (2, 0, 1): hung("-x"),
        (2, 1, 0): SOLID,
        (2, 1, 1): WIRE,
        (1, 1, 1): SOLID,
        (1, 1, 2): WIRE,
        (1, 0, 2): WIRE,
    }
    ticks = ticks_of(box((3, 2, 3), cells), 6)
    assert [(2, 0, 1) in tick["on"] for tick in ticks] == [False, True] * 3
