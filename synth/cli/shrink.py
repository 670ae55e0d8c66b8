"""``gatefit shrink``: a right layout made better, step by step."""

from __future__ import annotations

import sys
import time
from typing import TYPE_CHECKING, Any

import click

from synth.cli.shared.arguments import FUNCTION, LAYOUT, at_option, split_list, wanted
from synth.cli.shared.commands import Command
from synth.cli.shared.files import (
    SHRUNK_FORMAT,
    LayoutFile,
    json_line,
    of_layout,
    picture_file,
    read_layout,
    read_rules,
)
from synth.cli.shared.live_line import LiveLine
from synth.cli.shared.options import options
from synth.cli.shared.searching import require_time
from synth.cli.shared.specifying import specified

if TYPE_CHECKING:
    # `gatefit --help` must not wait for solvers: commands load those when they run.
    from synth.shrinking import Shrunk
    from synth.spec import Spec


@click.command("shrink", cls=Command, short_help="Make a right layout smaller, of any size.")
@LAYOUT
@FUNCTION
@options("shrink")
def shrink_command(
    layout: str,
    function: str | None,
    minimize: tuple[str, ...],
    pins: str,
    time_limit: float,
    effort: int | None,
    seed: int,
    workers: int,
    rules: str | None,
    resume: str | None,
    plots: tuple[str, ...],
    output: str | None,
    as_json: bool,
    quiet: bool,
    **overrides: Any,
) -> int:
    """Make the layout in the file LAYOUT ('-': standard input) smaller.

    The layout must be right. It keeps the function that its file says it was made for, else the one
    it has; and its delay, stacking and ground as they are now; or what you ask with a function, a
    specification and limits. Slices are taken out, and a solver mends what that breaks, a few dozen
    cells at a time; every step is judged by the simulator. So it works on layouts of any size, and
    'gatefit solve' would take far too long for most of them. It never makes anything worse, and it
    never proves that nothing smaller exists. A layout that breaks a limit you ask, or is slower, is
    brought within it before all else.

    It stops at the time limit, or from the keyboard at any moment: the best so far is shown and
    written. The longer it runs, the smaller the layout may get; another --seed goes another way.

    \b
    Examples:
      gatefit shrink adder.json -o smaller.json
      gatefit shrink adder.json --pins free --time-limit 600 --plot adder.svg
      gatefit shrink adder.json --width 2 --delay 5
      gatefit shrink adder.json --resume adder.jsonl --workers 2
      gatefit shrink xor.json --function xor2-stack --minimize parts --json

    \b
    Exit codes:
      0  done, smaller or not     2  the input cannot be used
      3  the layout broke a limit that you ask, and still does
    """
    from synth.questions.outcome import Status
    from synth.shrinking import Interrupted, kept_as_it_is, shrink

    require_time(time_limit)
    given = read_layout(layout)
    table = read_rules(rules)
    asked = wanted(function)
    with of_layout(layout):
        kept = kept_as_it_is(given, table) if asked is None else asked
    spec = specified(kept, overrides)
    targets = _Targets(output, plots)
    with of_layout(layout), at_option({"resume": "--resume"}):
        try:
            done = shrink(
                given,
                spec,
                minimize=split_list(minimize) or ("volume",),
                pins=pins,
                time_limit_s=None if effort is not None else time_limit,
                effort=effort,
                seed=seed,
                workers=workers,
                rules=table,
                resume=resume,
                reporter=None if quiet else _Progress(),
            )
        except Interrupted as stop:
            for remark in targets.write(stop.shrunk, split_list(minimize) or ("volume",)):
                click.echo(f"gatefit: {remark}, as far as it got", err=True)
            raise
    # Written first: whoever reads standard output may have gone away by now.
    remarks = targets.write(done, split_list(minimize) or ("volume",))
    if as_json:
        click.echo(json_line(document_of(done)))
    else:
        click.echo(_summary(done, spec) if quiet else _text(done, spec))
    for remark in () if quiet else remarks:
        click.echo(f"gatefit: {remark}", err=True)
    return (Status.FOUND if done.keeps_limits else Status.UNDECIDED).exit_code


class _Targets:
    """Files that will be written: refused early, written at the end."""

    def __init__(self, output: str | None, plots: tuple[str, ...]) -> None:
        from synth.views.drawing.plotting import require_matplotlib

        self.output = None if output is None else LayoutFile(output)
        self.plots = [picture_file(path, "--plot") for path in plots]
        if self.plots:
            require_matplotlib()

    def write(self, done: Shrunk, measures: tuple[str, ...]) -> list[str]:
        """Write everything; what to say of it."""
        from synth.views.drawing.shrinking_plot import shrinking_plot

        remarks = []
        if self.output is not None:
            self.output.write(self.output.text(done.layout))
            remarks.append(f"layout written to {self.output.path}")
        for kind, file in self.plots:
            file.write_bytes(shrinking_plot(_chart(done, measures[0]), kind))
            remarks.append(f"plot written to {file.path}")
        return remarks


def _chart(done: Shrunk, measure: str) -> Any:
    from synth.questions.measures import LINK, measure_of
    from synth.simulator import check
    from synth.views.drawing.shrinking_plot import ShrinkingChart, Step

    first = check(done.start) if measure in ("delay", LINK) else done.verdict
    steps = [Step(0.0, measure_of(done.start, first, measure) or 0, done.start.size)]
    for gain in done.gains:
        layout, verdict = gain.judged.layout, gain.judged.verdict
        value = measure_of(layout, verdict, measure)
        steps.append(Step(gain.seconds, value or 0, layout.size))
    name = done.layout.name or "layout"
    return ShrinkingChart(f"Shrinking {name}", measure, steps, done.seconds)


VERSION = 1


def document_of(done: Shrunk) -> dict[str, Any]:
    """The result document, version 1."""
    return {
        "format": SHRUNK_FORMAT,
        "version": VERSION,
        "reason": done.reason,
        "keeps_limits": done.keeps_limits,
        "seconds": round(done.seconds, 3),
        "effort": done.effort,
        "start": done.start.document(),
        "layout": done.layout.document(),
        "verdict": done.verdict.document(),
        "gains": [
            {
                "seconds": round(gain.seconds, 3),
                "kind": gain.kind,
                "size": list(gain.judged.layout.size),
                "delay": gain.judged.verdict.delay,
                "parts": gain.judged.layout.part_count,
            }
            for gain in done.gains
        ],
    }


def _text(done: Shrunk, spec: Spec) -> str:
    from synth.cli.shared.outcome_text import asked_columns
    from synth.views.text.layers import layout_text as drawn
    from synth.views.text.verdict import verdict_text

    asked = asked_columns(spec, done.layout)
    verdict = verdict_text(done.verdict, done.layout, asked=asked, stack=done.layout.stack)
    end = (
        f"{_summary(done, spec)}\n"
        "Every step was judged by the simulator. Whether a smaller layout exists is not known."
    )
    return "\n\n".join([drawn(done.layout), verdict, end])


def _summary(done: Shrunk, spec: Spec) -> str:
    start, now = done.start, done.layout
    smaller = f"volume {start.volume} to {now.volume}, parts {start.part_count} to {now.part_count}"
    kept = "" if done.keeps_limits else f" It does not keep all limits asked yet: {_hope(spec)}."
    return f"Shrunk: {smaller}, in {done.seconds:.1f} s; {done.reason}.{kept}"


def _hope(spec: Spec) -> str:
    """What may still help a layout that breaks a limit."""
    from synth.bounds import least_delay

    least, asked = least_delay(spec.function), spec.limits.delay
    if asked is not None and asked < least.ticks:
        return least.reason
    return "more time may help"


class _Progress:
    """Shows gains, a line each, and on a terminal what is being tried, on a line that changes."""

    def __init__(self) -> None:
        self._line = LiveLine(sys.stderr)
        self._began = time.monotonic()
        self._tried = 0
        self._best = ""

    def event(self, event: Any) -> None:
        """Show one event; a stream that is gone is no reason to stop."""
        from synth.layout.pins import show_size
        from synth.shrinking import events

        if isinstance(event, events.ShrinkingStarted):
            self._best = show_size(event.size)
            resumed = ", from the journal" if event.resumed else ""
            self._line.keep(f"from {self._best}, delay {event.delay}, {event.parts} parts{resumed}")
        elif isinstance(event, events.Gained):
            self._best = show_size(event.size)
            self._line.keep(
                f"{event.seconds:7.1f} s: {self._best}, delay {event.delay}, "
                f"{event.parts} parts ({event.kind})"
            )
        elif isinstance(event, events.MoveEnded):
            self._tried += 1
            if self._line.live:
                gone = time.monotonic() - self._began
                self._line.show(
                    f"{gone:.0f} s, best {self._best}: {self._tried} windows tried; last: "
                    f"{event.kind}, {event.cells} cells, {event.answer}"
                )
        elif isinstance(event, events.ShrinkingEnded):
            self._line.keep(
                f"{event.reason}, after {event.seconds:.1f} s and {self._tried} windows"
            )
