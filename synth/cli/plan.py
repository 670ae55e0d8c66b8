"""``gatefit plan``: how to build a layout by hand, step by step."""

from __future__ import annotations

import click

from synth.cli.shared.arguments import (
    COPIES,
    DELAY,
    FUNCTION,
    LAYOUT,
    RULES,
    in_row,
    output_option,
    wanted,
)
from synth.cli.shared.commands import Command
from synth.cli.shared.files import OutputFile, of_layout, read_layout, read_rules
from synth.cli.shared.kinds import kind_for, require_readable
from synth.cli.shared.large import announce
from synth.words import counted

KINDS = {"text": "plain text", "html": "HTML"}
"""What the file of a kind holds."""


@click.command("plan", cls=Command, short_help="Write a building plan to follow by hand.")
@LAYOUT
@COPIES
@output_option("Write the plan to this file.  [default: standard output]", ".html", ".txt")
@click.option(
    "--as",
    "kind",
    type=click.Choice(tuple(KINDS)),
    help="Plain text, or a page to print.  [default: by the ending of FILE, else text]",
)
@FUNCTION
@DELAY
@RULES
def plan_command(
    layout: str,
    copies: int | None,
    output: str | None,
    kind: str | None,
    function: str | None,
    delay: int | None,
    rules: str | None,
) -> int:
    """Write a plan by which to build the layout in the file LAYOUT ('-': standard input).

    The plan has a list of parts, the layers, and an order of work in which whatever a part rests
    on or hangs on is there before it. What 'gatefit build' made is built piece by piece: first the
    gates, then the wires between them. At the end it says how to test what you built: which inputs
    to switch on, what to expect, and after how many ticks. The page (html) works on its own,
    prints well, and remembers which boxes you ticked.

    \b
    Examples:
      gatefit plan xor.json
      gatefit plan xor.json -o xor-plan.html
      gatefit plan xor.json --function "q = a ^ b" -o xor-plan.txt
    """
    from synth.views.judged import judge
    from synth.views.plan import plan_of

    given = in_row(read_layout(layout), copies)
    kind = kind_for(output, kind, KINDS, "text")
    holds = KINDS[kind]
    target = None if output is None else OutputFile(output, holds)
    if target is None:
        require_readable(holds, "plan.html")
    announce(given, "a plan")
    table = read_rules(rules)
    with of_layout(layout):
        judged = judge(given, wanted(function), delay=delay, rules=table)
        plan = plan_of(given, table, judged=judged)
    if kind == "html":
        from synth.views.plan_html import plan_html

        text = plan_html(plan)
    else:
        from synth.views.text.plan import plan_text

        text = plan_text(plan) + "\n"
    if target is None:
        click.echo(text, nl=False)
    else:
        target.write(text)
        steps, parts = counted(len(plan.steps), "step"), counted(given.part_count, "part")
        click.echo(f"{target.path}: {steps}, {parts}")
    return 0
