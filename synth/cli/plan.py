"""``gatefit plan``: how to build a layout by hand, step by step."""

from __future__ import annotations

import click

from synth.cli.shared.arguments import LAYOUT, RULES
from synth.cli.shared.files import OutputFile, read_layout, read_rules
from synth.cli.shared.kinds import require_readable
from synth.cli.shared.large import announce
from synth.words import counted


@click.command("plan", short_help="Write a building plan to follow by hand.")
@LAYOUT
@click.option("--output", "-o", metavar="FILE", help="Write the plan there.")
@click.option(
    "--as",
    "kind",
    type=click.Choice(["text", "html"]),
    help="Plain text, or a page to print. [default: html for a FILE that ends so, else text]",
)
@click.option(
    "--function",
    metavar="TEXT",
    help='What the layout should compute, such as "q = a ^ b"; the page says whether it does.',
)
@click.option(
    "--delay",
    type=click.IntRange(0),
    metavar="TICKS",
    help="The delay it should meet: inputs change at tick 0, outputs are right at this tick.",
)
@RULES
def plan_command(
    layout: str,
    output: str | None,
    kind: str | None,
    function: str | None,
    delay: int | None,
    rules: str | None,
) -> int:
    """Write a plan by which to build the layout in the file LAYOUT ('-': standard input).

    It has the parts list, the layers, an order of work in which every part finds its support
    or host in place, and what to test when all stands: which inputs to drive, what to expect,
    after how many ticks. The page (html) needs nothing else and prints well; ticks in its boxes
    stay.

    \b
    Examples:
      gatefit plan xor.json
      gatefit plan xor.json -o xor-plan.html
    """
    from synth.spec import Spec
    from synth.views.judged import judge
    from synth.views.plan import plan_of

    given = read_layout(layout)
    if kind is None:
        html = output is not None and output.lower().endswith((".html", ".htm"))
        kind = "html" if html else "text"
    holds = "HTML" if kind == "html" else "plain text"
    target = None if output is None else OutputFile(output, holds)
    if target is None:
        require_readable(holds, "plan.html")
    announce(given, "a plan")
    table = read_rules(rules)
    spec = None if function is None else Spec.parse(function)
    plan = plan_of(given, table, judged=judge(given, spec, delay=delay, rules=table))
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
