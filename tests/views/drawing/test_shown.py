"""Windows: the same cells whether the window or the layout is walked."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from synth.layout import Layout
from synth.views.drawing.shown import Window
from tests.views.layouts import layouts


@given(layouts(), st.data())
def test_a_window_shows_the_parts_in_it_in_the_order_of_the_layout(
    layout: Layout, data: st.DataObject
) -> None:
    low = tuple(data.draw(st.integers(-1, side)) for side in layout.size)
    high = tuple(at + data.draw(st.integers(0, 6)) for at in low)
    window = Window((low[0], low[1], low[2]), (high[0], high[1], high[2]))
    assert list(window.cells_of(layout)) == [cell for cell in layout.cells if window.holds(cell)]
