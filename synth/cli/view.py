"""``gatefit view``: a layout as a page for a browser."""

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
from synth.cli.shared.kinds import require_readable
from synth.cli.shared.large import announce


@click.command("view", cls=Command, short_help="Make a page of a layout, to look at and play.")
@LAYOUT
@COPIES
@output_option("Write the page to this file.  [default: standard output]", ".html")
@FUNCTION
@DELAY
@click.option(
    "--embed",
    is_flag=True,
    help="Make only the model, the switches and the ticks, for a frame of 700 x 420 in another "
    "page.",
)
@RULES
def view_command(
    layout: str,
    copies: int | None,
    output: str | None,
    function: str | None,
    delay: int | None,
    embed: bool,
    rules: str | None,
) -> int:
    """Make one page of the layout in the file LAYOUT ('-': standard input).

    The page opens in any browser and needs no network. Turn the layout, slice it, switch its
    inputs, watch it tick by tick, ask any cell why it is on, and print its layers. What it plays
    was worked out by the simulator. A layout that is not legal is drawn, but not played. Of what
    'gatefit build' made it outlines the pieces, and shows the one that you choose alone.

    With --function or --delay the page says whether the layout does that, and marks the rows of
    the truth table that differ. Without them it goes by what the file says the layout was made
    for. If the file does not say, the page tells what the layout computes.

    \b
    Examples:
      gatefit view xor.json -o xor.html
      gatefit view xor.json --function xor2 --delay 2 -o xor.html
      gatefit view xor.json --embed -o frame.html
      gatefit solve "q = a & b" --json | gatefit view - -o and.html
    """
    from synth.views.judged import judge
    from synth.views.page import page_html

    given = in_row(read_layout(layout), copies)
    table = read_rules(rules)
    target = None if output is None else OutputFile(output, "HTML")
    if target is None:
        require_readable("HTML", "page.html")
    announce(given, "a page")
    with of_layout(layout):
        judged = judge(given, wanted(function), delay=delay, rules=table)
    page = page_html(given, table, judged=judged, embed=embed)
    if target is None:
        click.echo(page, nl=False)
    else:
        target.write(page)
        click.echo(f"{target.path}: open it in a browser")
    return 0
