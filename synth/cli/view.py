"""``gatefit view``: a layout as a page for a browser."""

from __future__ import annotations

import click

from synth.cli.shared.arguments import LAYOUT, RULES
from synth.cli.shared.files import OutputFile, read_layout, read_rules
from synth.cli.shared.kinds import require_readable
from synth.cli.shared.large import announce


@click.command("view", short_help="Make a page of a layout, to look at and play.")
@LAYOUT
@click.option(
    "--output",
    "-o",
    metavar="FILE",
    help="Where the page goes (HTML); without it, to standard output, unless that is a terminal.",
)
@click.option(
    "--function",
    metavar="TEXT",
    help='What the layout should compute, such as "q = a ^ b"; the page then judges by it.',
)
@click.option(
    "--delay",
    type=click.IntRange(0),
    metavar="TICKS",
    help="The delay it should meet: inputs change at tick 0, outputs are right at this tick.",
)
@click.option(
    "--embed",
    is_flag=True,
    help="Only the model, the switches and the ticks, for a frame of 700 x 420 in another page.",
)
@RULES
def view_command(
    layout: str,
    output: str | None,
    function: str | None,
    delay: int | None,
    embed: bool,
    rules: str | None,
) -> int:
    """Make one page of the layout in the file LAYOUT ('-': standard input).

    The page opens in any browser and needs no network: turn the layout, slice it, switch its
    inputs and watch it tick by tick, ask any cell why it is on, print its layers. The play in
    it was worked out by the simulator. A layout that is not legal is drawn, not played.

    With a function or a delay the page says whether the layout does what was asked, and marks
    the rows that differ. With neither it judges by what the layout says that it was made for, if
    it says so; else it says what the layout computes.

    \b
    Examples:
      gatefit view xor.json -o xor.html
      gatefit view xor.json --function "q = a ^ b" --delay 2 -o xor.html
      gatefit view xor.json --embed -o frame.html
      gatefit solve "q = a & b" --json | gatefit view - -o and.html
    """
    from synth.spec import Spec
    from synth.views.judged import judge
    from synth.views.page import page_html

    given = read_layout(layout)
    table = read_rules(rules)
    target = None if output is None else OutputFile(output, "HTML")
    if target is None:
        require_readable("HTML", "page.html")
    announce(given, "a page")
    spec = None if function is None else Spec.parse(function)
    judged = judge(given, spec, delay=delay, rules=table)
    page = page_html(given, table, judged=judged, embed=embed)
    if target is None:
        click.echo(page, nl=False)
    else:
        target.write(page)
        click.echo(f"{target.path}: open it in a browser")
    return 0
