"""With a layout fixed, the encoding says what the simulator's three-valued play says."""

from __future__ import annotations

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from synth.encoding import Question, encode
from synth.layout import Layout
from tests.encoding.agreement import assert_agreement, spec_of
from tests.reading.random_layouts import legal_layouts

SLOW = [HealthCheck.too_slow, HealthCheck.filter_too_much, HealthCheck.data_too_large]


@settings(max_examples=60, deadline=None, suppress_health_check=SLOW)
@given(layout=legal_layouts(max_size=(3, 3, 3)), delay=st.integers(0, 3))
def test_encoding_and_simulator_agree_on_random_layouts(layout: Layout, delay: int) -> None:
    assert assert_agreement(layout, delay) >= 0


@settings(max_examples=15, deadline=None, suppress_health_check=SLOW)
@given(layout=legal_layouts(max_size=(5, 1, 2)), delay=st.integers(0, 5))
def test_encoding_and_simulator_agree_on_longer_delays(layout: Layout, delay: int) -> None:
    assert assert_agreement(layout, delay) >= 0


def test_a_literal_of_another_box_is_refused() -> None:
    layout = Layout((2, 1, 1), {}, ())
    encoding = encode(Question(spec_of(layout), (2, 1, 1), 0, break_symmetry=False))
    with pytest.raises(ValueError, match="another box"):
        encoding.literals_of(Layout((1, 1, 1), {}, ()))
