"""``gatefit solve``: the search for the smallest layout."""

from __future__ import annotations

import shlex
import sys
from collections.abc import Callable, Iterator, Sequence
from contextlib import ExitStack, contextmanager
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from synth import defaults
from synth.cli.shared.arguments import SPEC, at_option, split_list
from synth.cli.shared.commands import Command
from synth.cli.shared.ending import NOT_WRITTEN, keep, say
from synth.cli.shared.files import LayoutFile, json_line, read_rules
from synth.cli.shared.gap_plot import GapPlot
from synth.cli.shared.kept import Answer, kept
from synth.cli.shared.options import options
from synth.cli.shared.remembering import Remembered
from synth.cli.shared.searching import reporter_of, require_search
from synth.cli.shared.specifying import specified, with_joints
from synth.errors import InputError, OutputError
from synth.layout import Layout
from synth.layout.documents import layout_text
from synth.spec import Spec
from synth.words import counted

if TYPE_CHECKING:
    # `gatefit --help` must not wait for solvers and graphs: commands load those when they run.
    from synth.questions.journal import Journal
    from synth.questions.outcome import Outcome

REFUSED_FILE = "gatefit-refused.json"
"""Where a refused layout is kept when no output file is named."""


@click.command("solve", cls=Command, short_help="Find the smallest layout for a function.")
@SPEC
@options("solve")
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
    store: str | None,
    resume: str | None,
    output: str | None,
    plots: tuple[str, ...],
    as_json: bool,
    quiet: bool,
    **overrides: Any,
) -> int:
    """Find the smallest layout for SPEC: text, a TOML file, or the name of a target.

    Text is one assignment for each output, separated by ';', with the operators of IEEE 1364:
    ~ & | ^ ~^ ?: and 1'b0 1'b1. Options override what a file or a target says. What nobody says
    is assumed, and the answer tells you what that was.

    \b
    Examples:
      gatefit solve "q = ~(a | b)"
      gatefit solve "s = a ^ b; c = a & b" --time-limit 60
      gatefit solve "q = a ^ b" --width 2 --delay 2 --stack y
      gatefit solve "q = s ? a : b" --minimize delay,volume
      gatefit solve xor2 --joint buffer --input-face -x --output-face +x
      gatefit solve half-adder -o half-adder.json
      gatefit solve mux2-stack --time-limit 60 --plot mux.svg
      gatefit solve my_spec.toml --json
      gatefit solve nor2 --delay 1 --certificate proof
      gatefit solve mux2-stack --store gates.sqlite --resume mux.jsonl

    \b
    Exit codes:
      0  found           3  undecided: the time ran out, the best so far is shown
      1  impossible      4  refused: the simulator rejects what was found, a bug
      2  the input cannot be used
    """
    from synth.encoding import ACCELERATIONS
    from synth.spec.sources import resolve_spec

    return search_for(
        lambda: specified(resolve_spec(spec_source), overrides),
        spec_source,
        minimize=minimize,
        solver=solver,
        time_limit=time_limit,
        seed=seed,
        prefer=prefer,
        workers=workers,
        advise=advise,
        without=tuple(ACCELERATIONS) if plain else split_list(without),
        rules=rules,
        certificate=certificate,
        store=store,
        resume=resume,
        output=output,
        plots=plots,
        as_json=as_json,
        quiet=quiet,
    )


def search_for(
    spec_of: Callable[[], Spec],
    question: str,
    *,
    minimize: tuple[str, ...],
    solver: str | None,
    time_limit: float | None,
    seed: int,
    prefer: str,
    workers: int | None,
    advise: float | None,
    without: Sequence[str],
    rules: str | None,
    certificate: str | None,
    store: str | None,
    resume: str | None,
    output: str | None,
    plots: tuple[str, ...],
    as_json: bool,
    quiet: bool,
    start: Layout | None = None,
) -> int:
    """Search as the options say, show and keep what comes of it; the exit code.

    Args:
        spec_of: gives what is asked, once the options are known to be good.
        question: what the user calls it.
        start: a layout that answers it, to begin with; what is said of it comes first.
    """
    from synth.cli.shared.outcome_text import advice_text, outcome_line, outcome_text, paragraph
    from synth.questions.journal import Journal
    from synth.questions.measures import LINK, parse_measures
    from synth.questions.outcome import Status
    from synth.questions.problem import Problem
    from synth.search import solve
    from synth.search.workers.solvers import solver_for

    with at_option("--minimize"):
        measures = parse_measures(split_list(minimize) or ("volume",), link=True)
        if LINK in measures and store is not None:
            raise InputError(
                "a store keeps no answers about the least delay of links",
                way_out="leave --store out, or limit it instead (--link-delay)",
            )
    path = None if resume is None else Path(resume)
    if solver is None and path is not None:
        solver = Journal.solver_of(path)
    solver = solver_for(solver, proving=certificate is not None)
    require_search(solver, prefer, time_limit)
    spec = spec_of()
    table = read_rules(rules)
    target = None if output is None else LayoutFile(output)
    plot = GapPlot(plots, measures[0], reporter_of(quiet))
    # Without a file it is kept in memory, for what may go wrong.
    problem, _ = Problem.of(spec, measures, table)
    journal = Journal.of(problem, solver, seed, path)
    if start is not None:
        from synth.proving import journal_from

        journal = journal_from(journal, start, problem)
    answer = Answer()
    with ExitStack() as stack:
        memory = Remembered.opened(stack, problem, spec.limits, store, certificate)
        outcome = memory.answer()
        remembered = outcome is not None
        if outcome is None:
            starts = memory.begin(journal)
            if starts and not quiet:
                say(f"gatefit: {_begins_with(starts, store)}")
            with (
                _kept(journal, certificate, store),
                memory.on_the_way(journal),
                at_option({"without": "--without"}),
            ):
                outcome = solve(
                    spec,
                    minimize=measures,
                    solver=solver,
                    time_limit_s=time_limit,
                    seed=seed,
                    prefer=prefer,
                    rules=table,
                    reporter=plot,
                    workers=workers,
                    without=without,
                    journal=journal,
                    certificate=certificate,
                    starts=starts,
                )
            memory.keep(outcome, answer)
    outcome = replace(outcome, assumed=(*outcome.assumed, *with_joints(spec)[1]))
    # Written first: whoever reads standard output may have gone away by now.
    written = _keep(outcome, target, answer)
    plot.write(question, answer)
    answer.remarks += _certified(outcome, certificate)
    if advise is None:
        advise = 0.0 if as_json or quiet else defaults.ADVISE_S
    how = {"solver": solver, "seed": seed, "rules": table, "workers": workers}
    if as_json and remembered:
        answer.remarks.append(f"the answer was in the store {store}; nothing was searched")
    if as_json:
        outcome = replace(outcome, advice=outcome.advice or _advice(outcome, advise, spec, **how))
    if as_json:
        text = json_line(outcome.document())
    elif quiet:
        text = outcome_line(outcome, question, store=store if remembered else None)
    else:
        text = outcome_text(outcome, spec, question, store=store if remembered else None)
    if start is not None and not as_json:
        from synth.proving import standing

        said = standing(start, outcome, table)
        text += f", {said}" if quiet else f"\n{paragraph(f'{said}.', label='Standing:')}"
    _show(outcome, text, answer, written=written)
    if not quiet or answer.failed or outcome.status is Status.REFUSED:
        answer.say()
    # What was ruled out by argument has its advice already.
    asks = not as_json and not outcome.advice
    if asks and (advice := _advice(outcome, advise, spec, **how)):
        click.echo(advice_text(advice))
    return NOT_WRITTEN if answer.failed else outcome.status.exit_code


def _begins_with(starts: Sequence[Layout], store: str | None) -> str:
    """What a search begins with, in words."""
    least = min(layout.volume for layout in starts)
    if len(starts) == 1:
        return f"begins with a layout of {counted(least, 'cell')} from {store}"
    return (
        f"begins with {len(starts)} layouts from {store}; the smallest has {counted(least, 'cell')}"
    )


def _advice(outcome: Outcome, seconds: float, spec: Spec, **how: Any) -> tuple[str, ...]:
    """Find out which limits make a question impossible, and say so before."""
    from synth.questions.outcome import Status
    from synth.search import advise

    if outcome.status is not Status.IMPOSSIBLE or seconds <= 0:
        return ()
    click.echo(
        f"gatefit: spending up to {seconds:g} s to find out which limit makes it impossible "
        "(--advise SECONDS changes that) ...",
        err=True,
    )
    return advise(spec, seconds, **how)


@contextmanager
def _kept(journal: Journal, certificate: str | None, store: str | None) -> Iterator[None]:
    """When a search is interrupted or fails, leave a file to resume from and say so."""
    known = len(journal.entries)
    try:
        yield
    except KeyboardInterrupt:
        elsewhere = certificate is not None or store is not None
        if journal.path is not None or (journal.entries and not elsewhere):
            _keep_journal(journal)
        if store is not None:
            say(f"gatefit: what was found so far is kept in {store}; the same command goes on")
        if certificate is not None:
            say(
                f"gatefit: the proofs so far are kept in {certificate}; the same command goes on "
                "from there"
            )
        raise
    except Exception as error:
        # A full disk, no memory, a bug: what was found until then is not lost with it.
        new = journal.entries[known:]
        if new:
            _keep_journal(journal, anew=isinstance(error, OutputError))
        layouts = [entry.layout for entry in new if entry.layout is not None]
        if layouts:
            best = min(layouts, key=lambda layout: (layout.volume, layout.part_count))
            where = kept(layout_text(best), "layout", ".json")
            say(f"gatefit: a layout had been found; {where}")
        raise


def _keep_journal(journal: Journal, *, anew: bool = False) -> None:
    """Say where the answers of a search are, and put them there if they are in no file yet.

    Args:
        journal: the answers.
        anew: whether the journal's own file, if it has one, may be what failed.
    """
    where = str(journal.path)
    steps = counted(len(journal.entries), "step")
    if journal.path is None or anew:
        file = keep(journal.text(), "gatefit-resume", ".jsonl")
        if file is None:
            say(f"gatefit: {steps} of the search could not be kept anywhere")
            return
        where = str(file)
    say(f"gatefit: {steps} of the search kept; go on with --resume {where}")


def _show(outcome: Outcome, text: str, answer: Answer, *, written: bool) -> None:
    line = json_line(outcome.document())
    answer.show(text, {} if written else {"outcome.json": line + "\n"})


def _keep(outcome: Outcome, target: LayoutFile | None, answer: Answer) -> bool:
    """Write the layout where it was asked for, a refused one in any case; whether it is there."""
    from synth.questions.outcome import Status

    layout = outcome.layout
    if outcome.status is Status.REFUSED:
        answer.remarks += keep_for_report(layout, target)
        return True
    if target is None:
        return False
    if layout is None:
        answer.remarks.append(f"no layout, so nothing is written to {target.path}")
        return False
    if not answer.write(target.path, target.text(layout)):
        return False
    unproven = ", which is not known to be the smallest" if outcome.status.exit_code else ""
    answer.remarks.append(f"layout written to {target.path}{unproven}")
    return True


def _certified(outcome: Outcome, certificate: str | None) -> list[str]:
    """What to say of the certificate."""
    from synth.questions.outcome import Status

    if certificate is None:
        return []
    if outcome.status is Status.REFUSED:
        return ["no certificate is written of a refused layout"]
    of = " of the boxes ruled out so far" if outcome.status is Status.UNDECIDED else ""
    return [
        f"certificate{of} written to {certificate}; check it with: "
        f"{shlex.join(['gatefit', 'audit', certificate])}"
    ]


def keep_for_report(layout: Layout | None, target: LayoutFile | None) -> list[str]:
    remarks = [
        "REFUSED: the search found a layout that the simulator rejects. "
        "This is a bug in gatefit: do not build this layout."
    ]
    if layout is None:
        return remarks
    text = layout_text(layout)
    try:
        target = target or LayoutFile(REFUSED_FILE)
        target.write(target.text(layout))
        kept = f"kept in {target.path}"
    except InputError as error:
        # Better on the screen than lost.
        click.echo(text, err=True, nl=False)
        kept = f"above, because {error}"
    command = shlex.join(["gatefit", *sys.argv[1:]])
    return [*remarks, f"the layout is {kept}; please report it, with this command: {command}"]
