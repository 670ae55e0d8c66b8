"""A frontier as a picture: steps, which of them are decided, and where there is no layout.

Whatever is known of a step has a shape, a line or a hatch of its own, so that no meaning rests on
colour. Matplotlib draws it; the SVG keeps its text as text and is the same in every run.
"""

from __future__ import annotations

import textwrap
from importlib import import_module
from itertools import pairwise
from typing import Any

from synth.views.drawing.palette import FAINT, GRID, OPEN_LINE, WIRE_LINE
from synth.views.drawing.plotting import plotted
from synth.views.text.frontier_chart import BEST_KNOWN, NONE, OPEN, SMALLEST, Chart, ChartStep
from synth.words import in_units

GAP_HATCH, NONE_HATCH = "xxx", "////"

WIDE = 90
"""Characters in a line of small print."""

MOST_SIZES = 8
"""With more points than this, a point is labelled with its value only."""

LATE, EARLY = 0.8, 0.1
"""Beyond this share of the width, labels of points and bounds stand on the left of them."""


def frontier_plot(chart: Chart, kind: str) -> bytes:
    """The picture as ``svg`` or ``png``.

    Raises:
        InputError: if matplotlib is not installed.
    """
    return plotted(_title(chart), kind, lambda figure: _Plot(figure, chart).draw())


def _title(chart: Chart) -> str:
    first, second = chart.axes
    return f"Smallest {first} against {second}: {chart.function}"


class _Plot:
    def __init__(self, figure: Any, chart: Chart) -> None:
        self.figure = figure
        self.chart = chart
        self.axes = figure.add_subplot()
        values = [value for step in chart.steps for value in (step.value, step.bound) if value]
        self.top = max(values, default=1) * 1.25
        self.low, self.high = chart.steps[0].first, chart.steps[-1].last
        self.margin = max(0.5, (self.high - self.low) * 0.02)

    def draw(self) -> None:
        first, second = self.chart.axes
        axes = self.axes
        ticker = import_module("matplotlib.ticker")
        axes.set_xlim(self.low - self.margin, self.high + self.margin)
        axes.set_ylim(0, self.top)
        for axis in (axes.xaxis, axes.yaxis):
            axis.set_major_locator(ticker.MaxNLocator(integer=True, nbins=12, min_n_ticks=1))
        axes.set_xlabel(in_units(second, f"{second} at most"))
        axes.set_ylabel(in_units(first))
        axes.grid(axis="y", color=GRID, linewidth=0.6)
        axes.set_axisbelow(True)
        for side in ("top", "right"):
            axes.spines[side].set_visible(False)
        self._texts()
        for step in self.chart.steps:
            {SMALLEST: self._reached, BEST_KNOWN: self._reached, OPEN: self._open,
             NONE: self._none}[step.standing](step)  # fmt: skip
        self._risers()
        self._labels()
        self._legend()

    def _texts(self) -> None:
        title = "\n".join(textwrap.wrap(_title(self.chart), 72))
        self.figure.suptitle(title, fontsize=12, fontweight="bold")
        lines = [""]
        for phrase in self.chart.asked:
            if lines[-1] and len(lines[-1]) + len(phrase) > WIDE:
                lines.append("")
            lines[-1] += f"; {phrase}" if lines[-1] else phrase
        self.axes.set_title("\n".join(lines), fontsize=8, color=FAINT)

    def _end(self, step: ChartStep) -> float:
        """Where the line of a step ends: where the next begins, or at the edge after the last."""
        return self.high + self.margin if step.last == self.high else step.last + 1

    def _reached(self, step: ChartStep) -> None:
        proven = step.standing == SMALLEST
        ends = [step.first, self._end(step)]
        self.axes.plot(
            ends,
            [step.value, step.value],
            color=WIRE_LINE if proven else OPEN_LINE,
            linewidth=2,
            linestyle="-" if proven else "--",
            solid_capstyle="butt",
        )
        if not proven:
            self._gap(step)
        if step.point or not proven:
            self._mark(step, proven)

    def _mark(self, step: ChartStep, proven: bool) -> None:
        self.axes.plot(
            [step.first],
            [step.value],
            linestyle="none",
            marker="o" if proven else "D",
            markersize=10 if proven else 9,
            markerfacecolor=WIRE_LINE if proven else "white",
            markeredgecolor=WIRE_LINE if proven else OPEN_LINE,
            markeredgewidth=2,
            zorder=6,
            gid=f"point-{step.first}",
        )

    def _gap(self, step: ChartStep) -> None:
        """The range from the bound up to the best known value: the smallest lies in it."""
        self._hatched((step.first, self._end(step)), step, step.value)
        self._bound(step)

    def _hatched(self, ends: tuple[float, float], step: ChartStep, upto: float | None) -> None:
        self.axes.fill_between(
            list(ends),
            step.bound,
            upto,
            facecolor="none",
            edgecolor=OPEN_LINE,
            hatch=GAP_HATCH,
            linewidth=0,
            alpha=0.6,
        )

    def _bound(self, step: ChartStep) -> None:
        self.axes.plot(
            [step.first],
            [step.bound],
            linestyle="none",
            marker="^",
            markersize=9,
            markerfacecolor="white",
            markeredgecolor=OPEN_LINE,
            markeredgewidth=2,
            zorder=6,
            gid=f"bound-{step.first}",
        )

    def _band(self, step: ChartStep) -> tuple[float, float]:
        left = self.low - self.margin if step.first == self.low else step.first - 0.5
        right = self.high + self.margin if step.last == self.high else step.last + 0.5
        return left, right

    def _open(self, step: ChartStep) -> None:
        self._hatched(self._band(step), step, self.top)
        self._bound(step)
        self._in_band(step, f"open: {step.bound} or more")

    def _none(self, step: ChartStep) -> None:
        left, right = self._band(step)
        self.axes.axvspan(
            left, right, facecolor="none", edgecolor=GRID, hatch=NONE_HATCH, linewidth=0, zorder=0
        )
        self._in_band(step, "no layout; ruled out")

    def _in_band(self, step: ChartStep, text: str) -> None:
        left, right = self._band(step)
        self.axes.text(
            (left + right) / 2,
            self.top / 2,
            text,
            rotation="vertical",
            ha="center",
            va="center",
            bbox={"facecolor": "white", "edgecolor": "none", "pad": 3},
            gid=f"none-{step.first}" if step.standing == NONE else f"open-{step.first}",
        )

    def _risers(self) -> None:
        """The steps of the staircase, from one value to the next."""
        reached = [step for step in self.chart.steps if step.value is not None]
        for before, after in pairwise(reached):
            if before.value != after.value:
                self.axes.plot(
                    [after.first, after.first],
                    [before.value, after.value],
                    color=FAINT,
                    linewidth=1.2,
                    linestyle=":",
                )

    def _labels(self) -> None:
        points = [step for step in self.chart.steps if step.point]
        sizes = len(points) <= MOST_SIZES
        for step in points:
            text = f"{step.value}: {step.size_text}" if sizes else f"{step.value}"
            self._label(step.first, step.value, text, above=True)
        for step in self.chart.steps:
            if step.standing == BEST_KNOWN:
                self._label(step.first, step.bound, f"{step.bound} or more", above=False)

    def _label(self, at: int, value: int | None, text: str, *, above: bool) -> None:
        wide = self.high - self.low
        late = at > self.low + (LATE if above else EARLY) * wide
        self.axes.annotate(
            text,
            (at, value),
            xytext=(-9 if late else 9, 9 if above else -9),
            textcoords="offset points",
            ha="right" if late else "left",
            va="bottom" if above else "top",
            bbox={"facecolor": "white", "edgecolor": "none", "pad": 0.5, "alpha": 0.85},
            zorder=5,
        )

    def _legend(self) -> None:
        line = import_module("matplotlib.lines").Line2D
        patch = import_module("matplotlib.patches").Patch
        open_mark = {"markerfacecolor": "white", "markeredgecolor": OPEN_LINE, "markeredgewidth": 2}
        there = {step.standing for step in self.chart.steps}
        handles = []
        if SMALLEST in there:
            handles.append(
                line(
                    [],
                    [],
                    color=WIRE_LINE,
                    linewidth=2,
                    marker="o",
                    markersize=9,
                    label="smallest; less ruled out",
                )
            )
        if BEST_KNOWN in there:
            handles.append(
                line(
                    [],
                    [],
                    color=OPEN_LINE,
                    linewidth=2,
                    linestyle="--",
                    marker="D",
                    markersize=8,
                    label="best known",
                    **open_mark,
                )
            )
        if {BEST_KNOWN, OPEN} & there:
            handles.append(
                line(
                    [],
                    [],
                    color="none",
                    marker="^",
                    markersize=8,
                    label="bound: less ruled out",
                    **open_mark,
                )
            )
            handles.append(
                patch(facecolor="none", edgecolor=OPEN_LINE, hatch=GAP_HATCH, label="open gap")
            )
        if NONE in there:
            handles.append(
                patch(
                    facecolor="none",
                    edgecolor=FAINT,
                    hatch=NONE_HATCH,
                    label="no layout; ruled out",
                )
            )
        self.figure.legend(
            handles=handles, loc="outside lower center", ncols=min(3, len(handles)), frameon=False
        )
