"""``gatefit solve``: the search for the smallest layout."""

from __future__ import annotations

import shlex
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import replace
from itertools import count
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from synth.cli.shared.arguments import RULES, at_option, complete_spec, split_list
from synth.cli.shared.asking import asked_spec, asking
from synth.cli.shared.files import OutputFile, json_line, read_rules
from synth.cli.shared.searching import (
    PREFER,
    QUIET,
    SEED,
    SOLVER,
    WORKERS,
    reporter_of,
    require_search,
)
from synth.errors import InputError
from synth.layout import Layout
from synth.layout.documents import layout_text
from synth.spec import Spec

if TYPE_CHECKING:
    # `gatefit --help` must not wait for solvers and graphs: commands load those when they run.
    from synth.questions.journal import Journal
    from synth.questions.outcome import Outcome

ADVISE_S = 20.0
"""Seconds to look, after an answer of impossible, for the limits that stand in the way."""

REFUSED_FILE = "gatefit-refused.json"
"""Where a refused layout is kept when no output file is named."""


def _complete_measure(ctx: Any, parameter: Any, incomplete: str) -> list[str]:
    from synth.questions.measures import MEASURES

    return [name for name in MEASURES if name.startswith(incomplete)]


@click.command("solve", short_help="Find the smallest layout for a function and limits.")
@click.argument("spec_source", metavar="SPEC", shell_complete=complete_spec)
@asking
@click.option(
    "--minimize",
    multiple=True,
    metavar="MEASURE",
    shell_complete=_complete_measure,
    help="What 'smallest' means: volume (default), floor, length, width, height, delay, parts. "
    "Repeat it, or part them by commas; the first counts most.",
)
@SOLVER
@click.option(
    "--time-limit",
    type=float,
    metavar="SECONDS",
    help="Stop then: undecided, with the best so far.",
)
@SEED
@PREFER
@WORKERS
@click.option(
    "--advise",
    type=click.FloatRange(min=0),
    metavar="SECONDS",
    help="After 'impossible', look so long for the limits that stand in the way; the answer is "
    "printed before that. With --json, which prints one document, the answer waits for it, and "
    "with --quiet nothing is looked for unless you ask.  [default: 20; with --json, --quiet 0]",
)
@click.option(
    "--without",
    multiple=True,
    metavar="NAME",
    help="Leave out what makes the search quicker, to measure it: symmetry, order, monotone, "
    "compared, sensitive, structure.",
)
@click.option("--plain", is_flag=True, help="Leave out all of it. Answers stay the same.")
@RULES
@click.option(
    "--certificate",
    metavar="DIR",
    type=click.Path(),
    help="Write there what the answer rests on, for 'gatefit audit' to check. A search that was "
    "stopped goes on from the proofs there.",
)
@click.option(
    "--resume",
    metavar="FILE",
    type=click.Path(dir_okay=False),
    help="Keep every answer there as it comes, and start from what it holds.",
)
@click.option("--output", metavar="FILE", help="Write the layout document there.")
@click.option("--json", "as_json", is_flag=True, help="Print the outcome document only.")
@QUIET
def solve_command(
    spec_source: str,
    minimize: tuple[str, ...],
    solver: str | None,
    time_limit: float | None,
    seed: int,
    prefer: str,
    workers: int | None,
    advise: float | None,
    without: tuple[str, ...],
    plain: bool,
    rules: str | None,
    certificate: str | None,
    resume: str | None,
    output: str | None,
    as_json: bool,
    quiet: bool,
    **overrides: Any,
) -> int:
    """Find the smallest layout for SPEC: text, a TOML file, or the name of a target.

    Text is one assignment for each output, parted by ';', in the operators of IEEE 1364:
    ~ & | ^ ~^ ?: and 1'b0 1'b1. What you say in options comes before what SPEC says. What nobody
    says is assumed, and the answer tells what that was.

    \b
    Examples:
      gatefit solve "q = ~(a | b)"
      gatefit solve "s = a ^ b; c = a & b" --time-limit 60
      gatefit solve "q = a ^ b" --width 2 --delay 2 --stack y
      gatefit solve "q = s ? a : b" --minimize delay --minimize volume
      gatefit solve xor2 --joint buffer --input-face -x --output-face +x
      gatefit solve half-adder --output half-adder.json
      gatefit solve my_spec.toml --json
      gatefit solve nor2 --delay 1 --certificate proof
      gatefit solve mux2-stack --resume mux.jsonl

    \b
    Exit codes:
      0  found           3  undecided: the time was up, the best so far is shown
      1  impossible      4  refused: the simulator rejects what was found, a bug
      2  the input cannot be used
    """
    from synth.cli.shared.outcome_text import advice_text
    from synth.encoding import ACCELERATIONS
    from synth.questions.journal import Journal
    from synth.questions.measures import parse_measures
    from synth.questions.problem import Problem
    from synth.search import solve
    from synth.search.workers.solvers import solver_for
    from synth.spec.sources import resolve_spec

    with at_option("--minimize"):
        measures = parse_measures(split_list(minimize) or ("volume",))
    path = None if resume is None else Path(resume)
    if solver is None and path is not None:
        solver = Journal.solver_of(path)
    solver = solver_for(solver, proving=certificate is not None)
    require_search(solver, prefer, time_limit)
    spec = asked_spec(resolve_spec(spec_source), overrides)
    table = read_rules(rules)
    target = None if output is None else OutputFile(output)
    journal = None
    if certificate is None or resume is not None:
        journal = Journal.of(Problem(spec, measures, table), solver, seed, path)
    with _kept(journal, certificate):
        outcome = solve(
            spec,
            minimize=measures,
            solver=solver,
            time_limit_s=time_limit,
            seed=seed,
            prefer=prefer,
            rules=table,
            reporter=reporter_of(quiet),
            workers=workers,
            without=ACCELERATIONS if plain else split_list(without),
            journal=journal,
            certificate=certificate,
        )
    # Written first: whoever reads standard output may have gone away by now.
    remarks = _keep(outcome, target) + _certified(outcome, certificate)
    if advise is None:
        advise = 0.0 if as_json or quiet else ADVISE_S

    def advice() -> tuple[str, ...]:
        return _advice(
            outcome, advise, spec, solver=solver, seed=seed, rules=table, workers=workers
        )

    if as_json:
        click.echo(json_line(replace(outcome, advice=advice()).document()))
    else:
        _show(outcome, spec, spec_source)
    for remark in remarks:
        click.echo(f"gatefit: {remark}", err=True)
    if not as_json and (said := advice()):
        click.echo(advice_text(said))
    return outcome.status.exit_code


def _advice(outcome: Outcome, seconds: float, spec: Spec, **how: Any) -> tuple[str, ...]:
    """Look for the limits that stand in the way of an impossible question, and say so before."""
    from synth.questions.outcome import Status
    from synth.search import advise

    if outcome.status is not Status.IMPOSSIBLE or seconds <= 0:
        return ()
    click.echo(
        f"gatefit: looking up to {seconds:g} s for the limits that stand in the way "
        "(--advise SECONDS) ...",
        err=True,
    )
    return advise(spec, seconds, **how)


@contextmanager
def _kept(journal: Journal | None, certificate: str | None) -> Iterator[None]:
    """When the keyboard interrupts a search, leave a file to resume from and say so."""
    try:
        yield
    except KeyboardInterrupt:
        if journal is not None and (journal.path or journal.entries):
            if journal.path is None:
                journal.save(_free_name())
            kept = f"{len(journal.entries)} answers kept; go on with --resume {journal.path}"
            click.echo(f"gatefit: {kept}", err=True)
        if certificate is not None:
            said = (
                f"proofs made so far are kept in {certificate}; the same command goes on from them"
            )
            click.echo(f"gatefit: {said}", err=True)
        raise


def _free_name() -> Path:
    """A name for a journal that no file has yet."""
    names = (Path(f"gatefit-resume{number or ''}.jsonl") for number in count())
    return next(name for name in names if not name.exists())


def _show(outcome: Outcome, spec: Spec, question: str) -> None:
    from synth.cli.shared.outcome_text import outcome_text

    click.echo(outcome_text(outcome, spec, question))


def _keep(outcome: Outcome, target: OutputFile | None) -> list[str]:
    """Write the layout where it was asked for, a refused one in any case; what to say of it."""
    from synth.questions.outcome import Status

    layout = outcome.layout
    if outcome.status is Status.REFUSED:
        return keep_for_report(layout, target)
    if target is None:
        return []
    if layout is None:
        return [f"no layout, so nothing is written to {target.path}"]
    target.write(layout_text(layout))
    unproven = ", which is not known to be the smallest" if outcome.status.exit_code else ""
    return [f"layout written to {target.path}{unproven}"]


def _certified(outcome: Outcome, certificate: str | None) -> list[str]:
    """What to say of the certificate."""
    from synth.questions.outcome import Status

    if certificate is None:
        return []
    if outcome.status is Status.REFUSED:
        return ["no certificate is written of a refused layout"]
    of = " of the boxes ruled out so far" if outcome.status is Status.UNDECIDED else ""
    return [
        f"certificate{of} written to {certificate}; to check it: "
        f"{shlex.join(['gatefit', 'audit', certificate])}"
    ]


def keep_for_report(layout: Layout | None, target: OutputFile | None) -> list[str]:
    remarks = [
        "REFUSED: the search found a layout that the simulator rejects. "
        "This is a bug in gatefit: do not build this layout."
    ]
    if layout is None:
        return remarks
    text = layout_text(layout)
    try:
        target = target or OutputFile(REFUSED_FILE)
        target.write(text)
        kept = f"kept in {target.path}"
    except InputError as error:
        # Better on the screen than lost.
        click.echo(text, err=True, nl=False)
        kept = f"above, for {error}"
    command = shlex.join(["gatefit", *sys.argv[1:]])
    return [*remarks, f"the layout is {kept}; please report it, with this command: {command}"]
