"""What comes from above rests while it is silent, for half of the time at most."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from synth.search.walk.resting import MOST_S, SILENT_S, Resting

BEGAN = 1000.0

STEP_S = SILENT_S / 8


def test_it_rests_and_works_for_as_long_again_each_time_longer() -> None:
    resting = Resting(BEGAN)
    for silent, due in ((0, False), (1, True), (2, False), (3, True), (5, False), (7, True)):
        assert resting.is_due(BEGAN + SILENT_S * silent) == due
        assert resting.is_due(BEGAN + SILENT_S * (silent + 1) - STEP_S) == due


@given(st.integers(0, 100))
def test_no_rest_is_longer_than_the_longest(periods: int) -> None:
    """After the longest it works for as long again, and so on."""
    resting = Resting(BEGAN)
    first = SILENT_S
    while (lasts_s := first) < MOST_S:
        first *= 2
    begins_s = 2 * lasts_s - SILENT_S + 2 * MOST_S * periods
    assert not resting.is_due(BEGAN + begins_s - STEP_S)
    assert resting.is_due(BEGAN + begins_s)
    assert resting.is_due(BEGAN + begins_s + MOST_S - STEP_S)
    assert not resting.is_due(BEGAN + begins_s + MOST_S)


@given(st.integers(1, 2000))
def test_it_has_a_third_of_the_time_at_least(steps: int) -> None:
    """Counted from its last gain on, at any moment."""
    resting = Resting(BEGAN)
    rested = sum(resting.is_due(BEGAN + STEP_S * step) for step in range(steps))
    assert rested <= steps * 2 / 3


def test_a_gain_ends_its_rest() -> None:
    resting = Resting(BEGAN)
    now = BEGAN + SILENT_S
    assert resting.is_due(now)
    resting.gained(now)
    assert not resting.is_due(now)
    assert resting.is_due(now + SILENT_S)
