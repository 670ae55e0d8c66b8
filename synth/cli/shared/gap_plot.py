"""The plot of a search: the best layout and the bound, over time."""

from __future__ import annotations

import time
from typing import TYPE_CHECKING

from synth.cli.shared.files import picture_file
from synth.cli.shared.kept import Answer

if TYPE_CHECKING:
    from synth.questions.events import Event, Reporter
    from synth.views.drawing.shrinking_plot import Step


class GapPlot:
    """A reporter that notes every better layout and every bound, and draws them at the end.

    Args:
        paths: the pictures (.svg or .png), as the option --plot names them; they are refused early.
        measure: what is made small; volume is drawn where events do not tell this measure.
        onward: the reporter that every event goes on to.

    Raises:
        InputError: if a file cannot be written or is no picture, or matplotlib is not installed.
    """

    def __init__(self, paths: tuple[str, ...], measure: str, onward: Reporter) -> None:
        from synth.questions.measures import LINK

        self.pictures = [picture_file(path, "--plot") for path in paths]
        if self.pictures:
            from synth.views.drawing.plotting import require_matplotlib

            require_matplotlib()
        self.measure = "volume" if measure == LINK else measure
        self.best: list[Step] = []
        self.bounds: list[tuple[float, int]] = []
        self._onward = onward
        self._began = time.monotonic()

    def event(self, event: Event) -> None:
        """Note an event, and pass it on."""
        from synth.questions.box import BoxQuestion
        from synth.questions.events import BestImproved, BoundRaised
        from synth.views.drawing.shrinking_plot import Step

        seconds = time.monotonic() - self._began
        if isinstance(event, BestImproved):
            own = {"parts": event.parts, "delay": event.delay}
            box = BoxQuestion(event.size, 0)
            value = own[self.measure] if self.measure in own else box.measure(self.measure)
            if value is not None:
                self.best.append(Step(seconds, value, event.size))
        elif isinstance(event, BoundRaised) and event.measure == self.measure:
            self.bounds.append((seconds, event.value))
        self._onward.event(event)

    def write(self, title: str, answer: Answer) -> None:
        """Draw what was noted, and remark on it."""
        from synth.views.drawing.shrinking_plot import ShrinkingChart, shrinking_plot

        if not self.pictures:
            return
        if not self.best:
            answer.remarks.append("no layout was found by this search, so nothing is plotted")
            return
        end_s = time.monotonic() - self._began
        chart = ShrinkingChart(title, self.measure, self.best, end_s, self.bounds)
        for kind, file in self.pictures:
            if answer.write(file.path, shrinking_plot(chart, kind)):
                answer.remarks.append(f"plot written to {file.path}")
