"""``gatefit library find``: what a store knows of a question."""

from __future__ import annotations

from itertools import islice
from typing import TYPE_CHECKING, Any

import click

from synth.cli.library.fits import show_fitting
from synth.cli.library.table import beyond_words, entry_lines
from synth.cli.shared.arguments import STORE, at_option, split_list
from synth.cli.shared.commands import Command
from synth.cli.shared.completing import complete_spec
from synth.cli.shared.files import LayoutFile, json_line, read_rules
from synth.cli.shared.options import options
from synth.cli.shared.specifying import specified, with_joints
from synth.errors import InputError
from synth.words import filled

if TYPE_CHECKING:
    from synth.library.entry import Entry
    from synth.library.similar import Match
    from synth.questions.outcome import Outcome
    from synth.questions.problem import Problem

FORMAT = "gatefit-library-find"
VERSION = 1


@click.command("find", cls=Command, short_help="Find what a store knows of a function and limits.")
@click.argument("spec_source", metavar="SPEC", required=False, shell_complete=complete_spec)
@STORE
@options("library find")
def find_command(
    spec_source: str | None,
    store: str,
    fits: str | None,
    minimize: tuple[str, ...],
    most: int,
    rules: str | None,
    output: str | None,
    as_json: bool,
    **overrides: Any,
) -> int:
    """Find what a store knows of SPEC, which is given as for 'gatefit solve'.

    First come all layouts that do what is asked, the smallest first. They may have been found
    under other limits; they are mirrored, turned, and their inputs exchanged, as long as they
    still do what is asked. The simulator judges each. Then comes the answer to just this
    question, if the store has it or if it follows from an answer under wider limits. Where no
    layout keeps the limits, the best one beyond them is named, if the store has one.

    With --fits and without SPEC it lists, of each function, the smallest layout that fits a box,
    whatever its joints and however it stacks, unless --joint and --stack say so.

    Joints are those that 'gatefit solve' assumes: wires, unless SPEC or --joint says otherwise.

    \b
    Examples:
      gatefit library find "q = a ^ b"
      gatefit library find xor2 --width 2 --stack y --delay 2
      gatefit library find "q = s ? a : b" --minimize delay -o mux.json
      gatefit library find mux2 --most 3 --json
      gatefit library find --fits 3x2x4 --delay 2

    \b
    Exit codes:
      0  the store has a layout, or the answer that there is none
      1  it has neither     2  the input cannot be used
    """
    from synth.library import Store
    from synth.library.similar import implied, matches
    from synth.questions.measures import parse_measures
    from synth.questions.outcome import Status
    from synth.questions.problem import Problem
    from synth.spec.sources import resolve_spec

    if fits is not None and spec_source is None:
        given = (
            click.get_current_context().get_parameter_source("most")
            is not click.core.ParameterSource.DEFAULT
        )
        return show_fitting(store, fits, most if given else None, as_json, overrides)
    if fits is not None or spec_source is None:
        raise InputError(
            "one of SPEC and --fits is needed, and not both",
            way_out="name a function, or a box such as --fits 3x2x4",
        )
    with at_option("--minimize"):
        measures = parse_measures(split_list(minimize) or ("volume",))
    spec, assumed = with_joints(specified(resolve_spec(spec_source), overrides))
    problem = Problem(spec, measures, read_rules(rules))
    target = None if output is None else LayoutFile(output)
    with Store.for_reading(store) as opened:
        answer = opened.known(problem)
        wider = None
        if answer is None or answer.status is Status.UNDECIDED:
            wider = implied(opened, problem)
        found = list(islice(matches(opened, problem), most))
        like = list(opened.entries_like(spec))
        lines = entry_lines(opened, [match.entry for match in found])
        own = None if answer is None else opened.entry(opened.number_of(key_of(problem)))
        beyond = None if found or own is None or own.beyond is None else own
    remarks = []
    if target is not None and found:
        target.write(target.text(found[0].layout))
        remarks.append(f"layout of entry {found[0].entry.number} written to {target.path}")
    elif target is not None:
        remarks.append(f"no layout, so nothing is written to {target.path}")
    if as_json:
        click.echo(json_line(find_document(answer, wider, found, assumed, beyond)))
    else:
        click.echo(find_text(spec_source, answer, wider, found, like, lines, beyond))
        if assumed:
            click.echo(f"Assumed: {'; '.join(assumed)}. Options say otherwise.")
    for remark in remarks:
        click.echo(f"gatefit: {remark}", err=True)
    statuses = {str(answer.status) if answer else None, wider.status if wider else None}
    return 0 if found or "impossible" in statuses else 1


def key_of(problem: Problem) -> str:
    """The key of the entry of a problem."""
    from synth.library.canonical import Canonical

    return Canonical.of(problem)[0].key


def find_document(
    answer: Outcome | None,
    wider: Entry | None,
    found: list[Match],
    assumed: tuple[str, ...] = (),
    beyond: Entry | None = None,
) -> dict[str, Any]:
    """What is found, for a program."""
    return {
        "format": FORMAT,
        "version": VERSION,
        "assumed": list(assumed),
        "answer": None if answer is None else answer.document(),
        "implied_by": None if wider is None else wider.document(),
        "beyond": None if beyond is None else beyond.document(),
        "matches": [
            {
                "entry": match.entry.document(),
                "beyond": match.beyond,
                "mirrored": match.symmetry.mirror,
                "quarter_turns": match.symmetry.quarters,
                "layout": match.layout.document(),
                "verdict": match.verdict.document(),
            }
            for match in found
        ],
    }


def find_text(
    question: str,
    answer: Outcome | None,
    wider: Entry | None,
    found: list[Match],
    like: list[Entry],
    listed: list[str],
    beyond: Entry | None = None,
) -> str:
    """What is found, for a reader: the layouts, then the answer."""
    lines = list(listed)
    others = [str(match.entry.number) for match in found if match.beyond]
    if others:
        lines.append(f"beyond the limits of their own questions, not of this: {', '.join(others)}")
    turned = [str(match.entry.number) for match in found if match.turned]
    if turned:
        lines.append(f"mirrored or turned to fit: {', '.join(turned)}")
    if lines:
        lines.append("")
    lines.append(filled(_said(question, answer, wider, found, like), "  "))
    if beyond is not None and beyond.beyond is not None:
        known = beyond_words(beyond.beyond)
        lines.append(
            filled(
                f"Beyond these limits there is one: {known}; 'gatefit library show "
                f"{beyond.number}' shows it.",
                "  ",
            )
        )
    return "\n".join(lines)


def _said(
    question: str,
    answer: Outcome | None,
    wider: Entry | None,
    found: list[Match],
    like: list[Entry],
) -> str:
    from synth.cli.shared.outcome_text import HEADLINES
    from synth.questions.outcome import Status

    if wider is not None:
        known = HEADLINES[Status.FOUND if wider.status == "found" else Status.IMPOSSIBLE]
        same = "; its layout keeps these limits, too" if wider.status == "found" else ""
        return (
            f"{question}: {known}. This follows from entry {wider.number}, which answers the same "
            f"question under wider limits{same}."
        )
    if answer is not None:
        return f"{question}: {HEADLINES[answer.status]}. {answer.claim or answer.reason}"
    if found:
        return f"{question}: never searched with these limits; the layouts above keep them."
    return f"{question}: nothing known.{_others(like)}"


def _others(like: list[Entry]) -> str:
    if not like:
        return ""
    listed = ", ".join(str(entry.number) for entry in like[:10])
    more = f" and {len(like) - 10} more" if len(like) > 10 else ""
    if len(like) == 1:
        return f" Entry {listed} has the same function, but does not do all that is asked."
    return f" Entries {listed}{more} have the same function, but do not do all that is asked."
