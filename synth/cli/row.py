"""``gatefit row``: a row of copies of a layout, as one layout."""

from __future__ import annotations

import click

from synth.cli.shared.arguments import LAYOUT, output_option
from synth.cli.shared.commands import Command
from synth.cli.shared.files import LayoutFile, read_layout


@click.command("row", cls=Command, short_help="Set copies of a layout side by side, as one layout.")
@LAYOUT
@click.option(
    "--copies",
    type=click.IntRange(1),
    metavar="N",
    required=True,
    help="How many copies.",
)
@output_option("Write to this file.  [default: standard output]", ".json")
def row_command(layout: str, copies: int, output: str | None) -> int:
    """Set N copies of the layout in the file LAYOUT ('-': standard input) side by side.

    The copies stand along the axis and at the pitch of the layout's own stack. Pin a of the
    first copy becomes a[0], that of the second a[1], and so on. Copies of a chain hand their
    signals on: only the first has the inputs of its links, only the last has the outputs.

    What is written is a layout like any other: every command that takes a layout takes it.

    \b
    Examples:
      gatefit row adder.json --copies 8 -o adder8.json
      gatefit row adder.json --copies 4 | gatefit show -
    """
    from synth.layout.documents import layout_text
    from synth.simulator.rows import row_of

    row = row_of(read_layout(layout), copies)
    if output is None:
        click.echo(layout_text(row), nl=False)
        return 0
    target = LayoutFile(output)
    target.write(target.text(row))
    click.echo(f"{target.path}: written")
    return 0
