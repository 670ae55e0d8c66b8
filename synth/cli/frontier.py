"""``gatefit frontier``: one measure against another."""

from __future__ import annotations

from contextlib import ExitStack
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from synth.cli.shared.arguments import SPEC, at_option
from synth.cli.shared.commands import Command
from synth.cli.shared.ending import NOT_WRITTEN, say
from synth.cli.shared.files import OutputFile, json_line, picture_file, read_rules
from synth.cli.shared.kept import Answer
from synth.cli.shared.options import options
from synth.cli.shared.searching import reporter_of, require_search
from synth.cli.shared.specifying import specified, with_joints
from synth.cli.solve import keep_for_report
from synth.errors import InputError, reason_of
from synth.layout.documents import layout_text

if TYPE_CHECKING:
    from synth.search.frontier.frontier import Frontier, StepSearch

OVERVIEW = "frontier.json"
"""The file beside the layouts that says which is which."""


@click.command("frontier", cls=Command, short_help="Find the smallest layout for each delay.")
@SPEC
@options("frontier")
def frontier_command(
    spec_source: str,
    axes: tuple[str, ...],
    solver: str | None,
    time_limit: float | None,
    seed: int,
    prefer: str,
    workers: int | None,
    rules: str | None,
    store: str | None,
    output: str | None,
    plots: tuple[str, ...],
    as_json: bool,
    quiet: bool,
    **overrides: Any,
) -> int:
    """Find how small SPEC gets for each delay, from the shortest delay up to the limit.

    SPEC and most options are those of 'gatefit solve'. With --axes other measures take the place
    of floor and delay. For each value of the second measure you learn the smallest first measure;
    or the best layout so far and the value below which the solver found none; or that there is no
    layout. If you stop it from the keyboard, what is known by then is written to its files.

    \b
    Examples:
      gatefit frontier xor2-stack --length 5 --height 5 --delay 4 --plot xor.svg
      gatefit frontier "q = a & ~b" --width 2 --stack y --delay 4 -o gates
      gatefit frontier nand2 --axes height,length --length 4 --width 2 --delay 2
      gatefit frontier mux2-stack --axes parts,volume --time-limit 600
      gatefit frontier nor2-stack --store gatefit.sqlite --json

    \b
    Exit codes:
      0  all is decided         3  undecided: something is left open
      1  no layout at all       4  refused by the simulator, a bug
      2  the input cannot be used
    """
    from synth.search.frontier.axes import parse_axes
    from synth.search.frontier.document import frontier_document
    from synth.search.frontier.frontier import DEFAULT_AXES, Survey
    from synth.search.workers.settings import Settings
    from synth.search.workers.solvers import solver_for
    from synth.spec.sources import resolve_spec
    from synth.views.frontier import chart_of
    from synth.views.text.frontier import frontier_text

    with at_option("--axes"):
        measures = parse_axes(_split(axes) or DEFAULT_AXES)
    solver = solver_for(solver)
    require_search(solver, prefer, time_limit)
    spec = specified(resolve_spec(spec_source), overrides)
    table = read_rules(rules)
    targets = _Targets(output, plots)
    settings = Settings.checked(solver, seed, prefer, workers)
    with ExitStack() as stack:
        memory = None
        if store is not None:
            from synth.library import Store

            memory = stack.enter_context(Store(store))
        with at_option({"axes": "--axes"}):
            survey = Survey(
                spec,
                measures,
                memory,
                settings,
                table,
                time_limit,
                reporter=reporter_of(quiet),
                watcher=None if quiet else _told,
            )
        survey.assumed += with_joints(spec)[1]
        try:
            survey.run()
        except BaseException:
            # A key or a signal, a full disk, a bug: what is known by then is not lost with it.
            answer = Answer()
            targets.write(survey.frontier(), answer)
            for remark in answer.remarks:
                say(f"gatefit: {remark}, as far as it is known")
            raise
    done = survey.frontier()
    answer = Answer()
    targets.write(done, answer)
    if done.refused is not None:
        answer.remarks += keep_for_report(done.refused.layout, None)
    files = targets.files(done)
    line = json_line(frontier_document(done, files))
    if as_json:
        text = line
    elif quiet:
        text = frontier_line(done, spec_source)
    else:
        text = frontier_text(chart_of(done, files), done.assumed)
    answer.show(text, {} if files else {"frontier.json": line + "\n"})
    if not quiet or answer.failed or done.refused is not None:
        answer.say()
    return NOT_WRITTEN if answer.failed else done.status.exit_code


def frontier_line(done: Frontier, question: str) -> str:
    """The answer in one line: ``nor2: found, floor 2 for delay 1, floor 1 for delay 3``."""
    from synth.cli.shared.outcome_text import HEADLINES
    from synth.search.frontier.curve import Standing

    first, second = done.axes
    said = [f"{question}: {HEADLINES[done.status]}"]
    for step in done.points:
        best = "" if step.standing is Standing.SMALLEST else " (not known to be the smallest)"
        said.append(f"{first} {step.value} for {second} {step.first}{best}")
    return ", ".join(said)


def _split(axes: tuple[str, ...]) -> tuple[str, ...]:
    """The measures named; unlike ``split_list``, one named twice stays twice, to be refused."""
    return tuple(name.strip() for value in axes for name in value.split(",") if name.strip())


def _told(asking: StepSearch) -> None:
    """Say which step is searched for, and what came of it if nothing was asked for it."""
    if asking.outcome is None:
        say(f"{asking.axes[0]} for {asking.axes[1]} at most {asking.at}")
    elif asking.remembered:
        say(f"{asking.outcome.status}: the answer was in the store")


class _Targets:
    """Files that will be written: refused early, written at the end."""

    def __init__(self, folder: str | None, plots: tuple[str, ...]) -> None:
        self.folder = None if folder is None else Path(folder)
        self.plots = [picture_file(path, "--plot") for path in plots]
        if self.plots:
            from synth.views.drawing.plotting import require_matplotlib

            require_matplotlib()
        if self.folder is not None:
            _require_folder(self.folder)

    def files(self, done: Frontier) -> dict[int, str]:
        """The names of the layouts' files, by the first value of each step."""
        if self.folder is None:
            return {}
        names = {}
        for step in done.steps:
            if step.known is not None:
                point = max(
                    other.first
                    for other in done.points
                    if other.first <= step.first and other.value == step.value
                )
                names[step.first] = f"{done.axes[1]}-{point}.json"
        return names

    def write(self, done: Frontier, answer: Answer) -> None:
        """Write everything, and remark on it."""
        from synth.search.frontier.document import frontier_document
        from synth.views.drawing.frontier_plot import frontier_plot
        from synth.views.frontier import chart_of

        files = self.files(done)
        if self.folder is not None:
            written = []
            for step in done.points:
                assert step.known is not None
                text = layout_text(step.known.layout)
                written.append(answer.write(self.folder / files[step.first], text))
            overview = json_line(frontier_document(done, files)) + "\n"
            written.append(answer.write(self.folder / OVERVIEW, overview))
            if all(written):
                layouts = f"{len(done.points)} layout{'' if len(done.points) == 1 else 's'}"
                answer.remarks.append(f"{layouts} and {OVERVIEW} written to {self.folder}")
        for kind, file in self.plots:
            if answer.write(file.path, frontier_plot(chart_of(done), kind)):
                answer.remarks.append(f"plot written to {file.path}")


def _require_folder(folder: Path) -> None:
    """Make the folder where layouts go, unless it is there."""
    try:
        folder.mkdir(exist_ok=True)
    except OSError as error:
        raise InputError(
            f"cannot write to the folder {str(folder)!r} ({reason_of(error).lower()})",
            place="--output",
            way_out="name a folder inside one that exists and can be written to",
        ) from None
    OutputFile(str(folder / OVERVIEW))
