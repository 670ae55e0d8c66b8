"""Shows how a search goes on: one line that changes on a terminal, a line a milestone elsewhere."""

from __future__ import annotations

import sys
import time
from typing import TextIO

from synth.cli.shared.live_line import LiveLine
from synth.layout.pins import show_size
from synth.medium import Size
from synth.questions.events import (
    BestImproved,
    BoundRaised,
    BoxEnded,
    BoxStarted,
    Event,
    FunctionFound,
    Placing,
    SearchEnded,
    SearchStarted,
    TimeLeft,
)
from synth.words import counted


class Progress:
    """A reporter that writes to ``stream`` (standard error by default) and nowhere else."""

    def __init__(self, stream: TextIO | None = None) -> None:
        self._line = LiveLine(sys.stderr if stream is None else stream)
        self._questions = 0
        self._began = time.monotonic()
        self._bound = ""
        self._best = ""
        self._left = ""
        self._met: dict[tuple[Size, int], int] = {}

    def event(self, event: Event) -> None:
        """Show one event; a stream that is gone is no reason to stop the search."""
        if isinstance(event, SearchStarted):
            self._questions = event.questions
            self._met.clear()
            self._left = ""
        elif isinstance(event, Placing):
            if self._line.live:
                self._line.show(
                    f"structure first: {show_size(event.size)}, delay {event.delay} ..."
                )
        elif isinstance(event, BoxStarted):
            if self._line.live:
                self._line.show(f"{self._so_far()}{self._where(event)} ...")
        elif isinstance(event, BoxEnded):
            line = f"{self._where(event)}: {event.answer}"
            if event.clauses:  # A question that was dropped before it was put has no formula.
                size = f"{event.variables:,} variables, {event.clauses:,} clauses"
                line += f" ({size}, {event.seconds:.1f} s)"
            self._line.show(self._so_far() + line) if self._line.live else self._line.keep(line)
        elif isinstance(event, TimeLeft):
            self._left = f", {_about(event.seconds)} left at most"
        elif isinstance(event, BoundRaised):
            self._bound = f", {event.measure} {event.value} or more"
        elif isinstance(event, BestImproved):
            self._best = f", best {show_size(event.size)}"
            delay = "" if event.delay is None else f", delay {event.delay}"
            parts = counted(event.parts, "part")
            self._line.keep(f"best so far: {show_size(event.size)}{delay}, {parts}")
        elif isinstance(event, FunctionFound):
            of = "" if event.counted is None else f" of {event.counted}"
            where = f"{show_size(event.size)}, delay {event.delay}"
            self._line.keep(f"function {event.found}{of}: {event.table} in {where}")
        elif isinstance(event, SearchEnded):
            self._line.keep(f"{event.status} after {event.seconds:.1f} s")

    def _so_far(self) -> str:
        """Seconds gone and left, the bound and the best layout, where there are any."""
        return f"{time.monotonic() - self._began:.0f} s{self._left}{self._bound}{self._best}: "

    def _where(self, event: BoxStarted | BoxEnded) -> str:
        of = f"/{self._questions}" if self._questions else ""
        cube = f", {event.cube}" if event.cube else ""
        if event.parts is not None:
            cube = f", at most {counted(event.parts, 'part')}{cube}"
        # A box counts once, in however many cubes and for however many parts it is asked about.
        number = self._met.setdefault((event.size, event.delay), len(self._met) + 1)
        return f"[{number}{of}] {show_size(event.size)}, delay {event.delay}{cube}"


def _about(seconds: float) -> str:
    """``about 40 s``, ``about 3 min``, ``about 2 h``, ``days``: an estimate has no more digits."""
    for unit, most, each in (("s", 100, 1), ("min", 100 * 60, 60), ("h", 48 * 3600, 3600)):
        if seconds < most:
            return f"about {max(1, round(seconds / each))} {unit}"
    return "days"
