"""With a layout fixed, the encoding says what the simulator's three-valued play says."""

from __future__ import annotations

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from synth.encoding import Question, encode
from synth.layout import Layout, Pin
from synth.medium import CLEAR, WIRE, Direction, Role
from tests.encoding.agreement import assert_agreement, encoding_of, spec_of
from tests.reading.random_layouts import legal_layouts

SLOW = [HealthCheck.too_slow, HealthCheck.filter_too_much, HealthCheck.data_too_large]


SHAPING = st.sampled_from([None, "order", "first-tick", "links"])
"""An acceleration to leave out that shapes what is played, or none."""


@settings(max_examples=50, suppress_health_check=SLOW)
@given(layout=legal_layouts(max_size=(3, 2, 3)), delay=st.integers(0, 3), name=SHAPING)
def test_encoding_and_simulator_agree_on_random_layouts(
    layout: Layout, delay: int, name: str | None
) -> None:
    assert_agreement(layout, delay, () if name is None else (name,))


@settings(max_examples=15, suppress_health_check=SLOW)
@given(layout=legal_layouts(max_size=(3, 3, 3)), delay=st.integers(0, 3), name=SHAPING)
def test_they_agree_where_a_cell_has_all_its_neighbours_in_the_box(
    layout: Layout, delay: int, name: str | None
) -> None:
    """Such boxes take the longest, by far; so there are fewer of them."""
    assert_agreement(layout, delay, () if name is None else (name,))


@settings(max_examples=15, suppress_health_check=SLOW)
@given(layout=legal_layouts(max_size=(5, 1, 2)), delay=st.integers(0, 5))
def test_encoding_and_simulator_agree_on_longer_delays(layout: Layout, delay: int) -> None:
    assert_agreement(layout, delay)


@pytest.mark.parametrize("counts", [False, True])
def test_a_strength_does_not_outrun_its_reach(counts: bool) -> None:
    """Sixteen wires in a row: counted links are exact, ordered ones say that they are not."""
    cells = {(x, 0, 0): CLEAR for x in range(16)} | {(x, 0, 1): WIRE for x in range(16)}
    pins = (
        Pin("a", Role.INPUT, (0, 0, 1), Direction.NX),
        Pin("q", Role.OUTPUT, (15, 0, 1), Direction.PX),
    )
    layout = Layout((16, 1, 2), cells, pins)
    without = ("order",) if counts else ()
    for delay in (0, 1):
        assert encoding_of(layout, delay, without).exact is counts
        assert_agreement(layout, delay, without)


def test_a_literal_of_another_box_is_refused() -> None:
    layout = Layout((2, 1, 1), {}, ())
    encoding = encode(Question(spec_of(layout), (2, 1, 1), 0, break_symmetry=False))
    with pytest.raises(ValueError, match="another box"):
        encoding.literals_of(Layout((1, 1, 1), {}, ()))
