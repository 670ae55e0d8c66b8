"""The plot of a best layout over time, its labels above all."""

from __future__ import annotations

import pytest

from synth.views.drawing.shrinking_plot import ShrinkingChart, Step, shrinking_plot

pytest.importorskip("matplotlib")


def drawn(*steps: Step, bounds: tuple[tuple[float, int], ...] = ()) -> str:
    chart = ShrinkingChart("q = ~a", "volume", steps, 3.0, bounds)
    return shrinking_plot(chart, "svg").decode()


def test_each_new_value_is_labelled_with_its_box() -> None:
    picture = drawn(Step(0.0, 6, (3, 1, 2)), Step(1.0, 4, (2, 1, 2)))
    assert "6: 3 x 1 x 2" in picture
    assert "4: 2 x 1 x 2" in picture


def test_of_layouts_as_good_the_label_names_the_one_that_was_kept() -> None:
    picture = drawn(Step(0.0, 6, (3, 1, 2)), Step(1.0, 2, (2, 1, 1)), Step(2.0, 2, (1, 1, 2)))
    assert "2: 1 x 1 x 2" in picture
    assert "2: 2 x 1 x 1" not in picture


def test_the_bound_says_when_it_meets_the_best() -> None:
    open_still = drawn(Step(0.0, 6, (3, 1, 2)), bounds=((1.0, 4),))
    assert "none below 4" in open_still
    met = drawn(Step(0.0, 6, (3, 1, 2)), bounds=((1.0, 4), (2.0, 6)))
    assert "6: none is smaller" in met
