"""A measure of the best layout over time: a picture of a staircase that goes down.

Where a search raised a bound meanwhile, a second staircase goes up to meet the first.

Matplotlib draws it; the SVG keeps its text as text and is the same in every run.
"""

from __future__ import annotations

import textwrap
from collections.abc import Sequence
from dataclasses import dataclass
from importlib import import_module
from typing import Any

from synth.layout.pins import show_size
from synth.medium import Size
from synth.views.drawing.palette import GRID, INK, WIRE_LINE
from synth.views.drawing.plotting import plotted
from synth.words import in_units

MOST_LABELS = 8
"""With more steps than this, only the first and the last carry a label."""

MINUTES_FROM = 600.0
"""From this many seconds on, the axis counts minutes."""


@dataclass(frozen=True, slots=True)
class Step:
    """From this second on, the measure had this value, in a box of this size."""

    seconds: float
    value: int
    size: Size


@dataclass(frozen=True, slots=True)
class ShrinkingChart:
    """What the picture shows.

    Attributes:
        title: what was shrunk.
        measure: the name of the measure.
        steps: in order of time; the first is the start, at 0 seconds.
        end_s: when the work ended, in seconds.
        bounds: seconds and value of every bound, in order: from then on, all below was ruled out.
    """

    title: str
    measure: str
    steps: Sequence[Step]
    end_s: float
    bounds: Sequence[tuple[float, int]] = ()


def shrinking_plot(chart: ShrinkingChart, kind: str) -> bytes:
    """The picture as ``svg`` or ``png``.

    Raises:
        InputError: if matplotlib is not installed.
    """
    return plotted(chart.title, kind, lambda figure: _draw(figure, chart))


def _draw(figure: Any, chart: ShrinkingChart) -> None:
    axes = figure.add_subplot()
    figure.suptitle("\n".join(textwrap.wrap(chart.title, 72)), fontsize=12, fontweight="bold")
    scale, word = (60.0, "minutes") if chart.end_s >= MINUTES_FROM else (1.0, "seconds")
    times = [step.seconds / scale for step in chart.steps]
    values = [step.value for step in chart.steps]
    end = max(chart.end_s / scale, times[-1])
    axes.step(
        [*times, end],
        [*values, values[-1]],
        where="post",
        color=WIRE_LINE,
        linewidth=2,
        gid="best-so-far",
    )
    if chart.bounds:
        _draw_bounds(axes, chart, scale, end)
    axes.plot(times, values, linestyle="none", marker="o", markersize=6, color=WIRE_LINE)
    axes.set_xlim(-0.02 * (end or 1), end * 1.12 or 1)
    axes.set_ylim(0, max(values) * 1.15)
    axes.set_xlabel(f"time, {word}")
    of_the_best = f"{chart.measure.capitalize()} of the best layout so far"
    axes.set_ylabel(in_units(chart.measure, of_the_best))
    axes.yaxis.set_major_locator(import_module("matplotlib.ticker").MaxNLocator(integer=True))
    axes.grid(axis="y", color=GRID, linewidth=0.6)
    axes.set_axisbelow(True)
    for side in ("top", "right"):
        axes.spines[side].set_visible(False)
    _labels(axes, chart, times)


def _draw_bounds(axes: Any, chart: ShrinkingChart, scale: float, end: float) -> None:
    """Draw how the bound rose; the area below it is where no layout can be."""
    times = [0.0, *(seconds / scale for seconds, _ in chart.bounds), end]
    values = [0, *(value for _, value in chart.bounds), chart.bounds[-1][1]]
    axes.fill_between(times, values, step="post", color=GRID, alpha=0.6, linewidth=0)
    axes.step(times, values, where="post", color=INK, linewidth=1.5, linestyle="--", gid="bound")
    axes.annotate(
        f"{values[-1]}: none is smaller"
        if values[-1] >= chart.steps[-1].value
        else f"none below {values[-1]}",
        (end, values[-1]),
        xytext=(-4, -4),
        textcoords="offset points",
        ha="right",
        va="top",
        gid="bound-label",
    )


def _labels(axes: Any, chart: ShrinkingChart, times: Sequence[float]) -> None:
    last = len(chart.steps) - 1
    # A later layout may be as good in another box: the label names the one that was kept.
    kept = {step.value: step.size for step in chart.steps}
    values = [step.value for step in chart.steps]
    few = len(set(values)) <= MOST_LABELS
    for index, (step, at) in enumerate(zip(chart.steps, times, strict=True)):
        new = index == 0 or values[index - 1] != step.value
        told = new and (few or index == 0 or step.value == values[last])
        if not told:
            continue
        axes.annotate(
            f"{step.value}: {show_size(kept[step.value])}",
            (at, step.value),
            xytext=(6, 7),
            textcoords="offset points",
            ha="left",
            va="bottom",
            bbox={"facecolor": "white", "edgecolor": "none", "pad": 0.5, "alpha": 0.85},
            gid=f"step-{index}",
        )
