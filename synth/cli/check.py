"""``gatefit check``: the simulator's verdict on a layout."""

from __future__ import annotations

import click

from synth.cli.shared.arguments import DELAY, FUNCTION, LAYOUT, RULES, wanted
from synth.cli.shared.commands import Command
from synth.cli.shared.files import json_line, read_layout, read_rules
from synth.cli.shared.watching import watchable
from synth.errors import InputError


@click.command("check", cls=Command, short_help="Judge a layout in the simulator.")
@LAYOUT
@FUNCTION
@click.option("--spec", metavar="SPEC", hidden=True, help="An older name of --function.")
@DELAY
@RULES
@click.option(
    "--review",
    "whole",
    is_flag=True,
    help="Tell the whole review: notes, every remedy, the rules; with --json, as a document.",
)
@click.option("--brief", is_flag=True, help="Leave the review out: only the verdict.")
@watchable
@click.option("--json", "as_json", is_flag=True, help="Print only the verdict as a JSON document.")
def check_command(
    layout: str,
    function: str | None,
    spec: str | None,
    delay: int | None,
    rules: str | None,
    whole: bool,
    brief: bool,
    as_json: bool,
) -> int:
    """Let the simulator judge the layout in the file LAYOUT ('-': standard input).

    It says whether the layout is legal in the medium, what it computes and how fast, whether it
    can be stacked, and every fault with its rule and cell. With --function or --delay the layout
    has to do that. Without them it has to do what its file says it was made for; gatefit writes
    that there. If the file does not say, you learn what the layout computes.

    Below the verdict stands a review: for every fault a single change that mends it, where there
    is one, and what does it in which copy of a stack; then outputs that glitch, wires one step
    from too weak, parts that do nothing, oscillation and memory; with --review also what would
    break with another joint or in a stack. Only faults change the exit code.

    \b
    Examples:
      gatefit check xor.json
      gatefit check xor.json --function "q = a ^ b" --delay 2
      gatefit check xor.json --function xor2 --review
      gatefit check xor.drawing --watch
      gatefit check xor.json --json
      gatefit solve "q = a & b" --json | gatefit check - --brief

    \b
    Exit codes:
      0  the layout passes     2  the input cannot be used
      1  it does not pass
    """
    from synth.cli.shared.outcome_text import asked_columns
    from synth.reviewing import review
    from synth.simulator import check
    from synth.simulator.demands import demanded_stack
    from synth.simulator.made_for import spec_made_for
    from synth.views.text.layers import measures_text
    from synth.views.text.review import review_text
    from synth.views.text.verdict import verdict_text

    given = read_layout(layout)
    if function is not None and spec is not None:
        raise InputError(
            "a function is given twice", place="--function and --spec", way_out="give one of them"
        )
    if whole and brief:
        raise InputError(
            "the review is asked for and left out",
            place="--review and --brief",
            way_out="give one of them",
        )
    asked = wanted(spec if function is None else function)
    judged_by = spec_made_for(given) if asked is None else asked
    table = read_rules(rules)
    if brief or (as_json and not whole):
        reviewed, verdict = None, check(given, judged_by, delay=delay, rules=table)
    else:
        reviewed = review(given, judged_by, delay=delay, rules=table)
        verdict = reviewed.verdict
    if as_json:
        click.echo(json_line((reviewed or verdict).document()))
        return 0 if verdict.passes else 1
    click.echo(measures_text(given))
    click.echo()
    click.echo(
        verdict_text(
            verdict,
            given,
            asked=None if judged_by is None else asked_columns(judged_by, given),
            stack=given.stack or (None if judged_by is None else demanded_stack(given, judged_by)),
            made_for=given.made_for if asked is None else None,
        )
    )
    if reviewed is not None:
        click.echo()
        click.echo(review_text(reviewed, everything=whole))
    return 0 if verdict.passes else 1
