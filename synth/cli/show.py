"""``gatefit show``: a layout as layers of text."""

from __future__ import annotations

import click

from synth.cli.arguments import LAYOUT
from synth.cli.files import read_layout


@click.command("show", short_help="Draw the layers of a layout as text.")
@LAYOUT
def show_command(layout: str) -> int:
    """Draw the layers of the layout in the file LAYOUT ('-': standard input).

    Each layer is a plan seen from above, two characters a cell, with a legend, the pins, the
    size and the parts. The layout is drawn whether it is legal or not: 'gatefit check' judges.

    \b
    Examples:
      gatefit show xor.json
      gatefit solve "q = a & b" --json | gatefit show -
    """
    from synth.views.text import layout_text

    click.echo(layout_text(read_layout(layout)))
    return 0
