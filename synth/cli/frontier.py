"""``gatefit frontier``: one measure against another."""

from __future__ import annotations

from contextlib import ExitStack
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from synth.cli.shared.arguments import RULES, at_option, complete_spec
from synth.cli.shared.asking import asked_spec, asking
from synth.cli.shared.ending import NOT_WRITTEN, say
from synth.cli.shared.files import OutputFile, json_line, read_rules
from synth.cli.shared.kept import Answer
from synth.cli.shared.searching import (
    PREFER,
    QUIET,
    SEED,
    SOLVER,
    WORKERS,
    reporter_of,
    require_search,
)
from synth.cli.solve import keep_for_report
from synth.errors import InputError
from synth.layout.documents import layout_text
from synth.medium import Rules

if TYPE_CHECKING:
    from synth.search.frontier.frontier import Asking, Frontier

OVERVIEW = "frontier.json"
"""The file beside the layouts that says which is which."""


@click.command("frontier", short_help="Find the smallest for each delay.")
@click.argument("spec_source", metavar="SPEC", shell_complete=complete_spec)
@asking
@click.option(
    "--axes",
    multiple=True,
    metavar="M,N",
    help="Two measures: the smallest M for each N. floor,delay if unsaid.",
)
@SOLVER
@click.option(
    "--time-limit", type=float, metavar="SECONDS", help="For all of it; what is open then says so."
)
@SEED
@PREFER
@WORKERS
@RULES
@click.option(
    "--store",
    metavar="FILE",
    envvar="GATEFIT_STORE",
    show_envvar=True,
    type=click.Path(dir_okay=False),
    help="A store of answers: what it knows is not asked again, what is found is kept there.",
)
@click.option(
    "-o", "--output", metavar="DIR", help=f"Write the layouts and {OVERVIEW} to this folder."
)
@click.option(
    "--plot",
    "plots",
    multiple=True,
    metavar="FILE",
    help="Draw it there, as .svg or .png; may be repeated. Needs the extra 'plot'.",
)
@click.option("--json", "as_json", is_flag=True, help="Print the frontier document only.")
@QUIET
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
    """Find how small SPEC gets for each delay, from the least possible up to the limit.

    SPEC and its options are those of 'gatefit solve'. For every value that the second measure
    may be at most, the answer is the smallest first measure, or the best known with the bound
    below which the solver ruled all out, or that there is no layout. The largest value is asked
    first; what that rules out serves all others. Stopped from the keyboard, what is known by
    then is written to where it was asked for.

    \b
    Examples:
      gatefit frontier xor2-stack --length 5 --height 5 --delay 4 --plot xor.svg
      gatefit frontier "q = a & ~b" --width 2 --stack y --delay 4 -o gates
      gatefit frontier nand2 --axes height,length --length 4 --width 2 --delay 2
      gatefit frontier mux2-stack --axes parts,volume --time-limit 600
      gatefit frontier nor2-stack --store gatefit.sqlite --json

    \b
    Exit codes:
      0  complete               3  undecided: gaps are left
      1  no layout for any       4  refused by the simulator, a bug
      2  the input cannot be used
    """
    from synth.cli.shared.frontier_chart import chart_of
    from synth.search.frontier.document import frontier_document
    from synth.search.frontier.frontier import DEFAULT_AXES, Survey, parse_axes
    from synth.search.workers.settings import Settings
    from synth.search.workers.solvers import solver_for
    from synth.spec.sources import resolve_spec
    from synth.views.text.frontier import frontier_text

    with at_option("--axes"):
        measures = parse_axes(_split(axes) or DEFAULT_AXES)
    solver = solver_for(solver)
    require_search(solver, prefer, time_limit)
    spec = asked_spec(resolve_spec(spec_source), overrides)
    table = read_rules(rules)
    targets = _Targets(output, plots, table)
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
    answer.show(
        line if as_json else frontier_text(chart_of(done, table, files), done.assumed),
        {} if files else {"frontier.json": line + "\n"},
    )
    answer.say()
    return NOT_WRITTEN if answer.failed else done.status.exit_code


def _split(axes: tuple[str, ...]) -> tuple[str, ...]:
    """The measures named; unlike ``split_list``, one named twice stays twice, to be refused."""
    return tuple(name.strip() for value in axes for name in value.split(",") if name.strip())


def _told(asking: Asking) -> None:
    """Say which step is searched for, and what came of it if nothing was asked for it."""
    if asking.outcome is None:
        say(f"{asking.axes[0]} for {asking.axes[1]} at most {asking.at}")
    elif asking.remembered:
        say(f"{asking.outcome.status}, as the store says")


class _Targets:
    """Files that will be written: refused early, written at the end."""

    def __init__(self, folder: str | None, plots: tuple[str, ...], rules: Rules) -> None:
        self.rules = rules
        self.folder = None if folder is None else Path(folder)
        self.plots = [
            (_kind(path), OutputFile(path, _kind(path).upper(), option="--plot")) for path in plots
        ]
        if self.plots:
            from synth.views.drawing.frontier_plot import require_matplotlib

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
        from synth.cli.shared.frontier_chart import chart_of
        from synth.search.frontier.document import frontier_document
        from synth.views.drawing.frontier_plot import frontier_plot

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
            if answer.write(file.path, frontier_plot(chart_of(done, self.rules), kind)):
                answer.remarks.append(f"plot written to {file.path}")


def _kind(path: str) -> str:
    from synth.views.drawing.frontier_plot import KINDS

    kind = Path(path).suffix.lower().removeprefix(".")
    if kind not in KINDS:
        raise InputError(
            f"no kind of plot is known for {path!r}",
            place="--plot",
            way_out="end the name in .svg or .png",
        )
    return kind


def _require_folder(folder: Path) -> None:
    """Make the folder where layouts go, unless it is there."""
    try:
        folder.mkdir(exist_ok=True)
    except OSError as error:
        raise InputError(
            f"cannot write to the folder {str(folder)!r} ({(error.strerror or '').lower()})",
            place="--output",
            way_out="name a folder in one that exists and may be written to",
        ) from None
    OutputFile(str(folder / OVERVIEW))
