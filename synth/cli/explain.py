"""``gatefit explain``: how a layout works, in words or as a drawn netlist."""

from __future__ import annotations

import click

from synth.cli.shared.arguments import (
    COPIES,
    INPUTS,
    LAYOUT,
    RULES,
    in_row,
    output_option,
    read_inputs,
)
from synth.cli.shared.commands import Command
from synth.cli.shared.files import OutputFile, of_layout, read_layout, read_rules
from synth.cli.shared.kinds import kind_for, require_readable
from synth.cli.shared.large import announce
from synth.words import counted

KINDS = {"text": "plain text", "svg": "SVG", "dot": "DOT"}
"""What the file of a kind holds."""


@click.command("explain", cls=Command, short_help="Say how a layout works, or draw its netlist.")
@LAYOUT
@COPIES
@INPUTS
@output_option("Write to this file.  [default: standard output]", ".svg", ".dot", ".txt")
@click.option(
    "--as",
    "kind",
    type=click.Choice(tuple(KINDS)),
    help="Words, a drawing of the netlist, or a graph for other programs.  [default: by the ending "
    "of FILE, else text]",
)
@RULES
def explain_command(
    layout: str,
    copies: int | None,
    inputs: str | None,
    output: str | None,
    kind: str | None,
    rules: str | None,
) -> int:
    """Say how the layout in the file LAYOUT ('-': standard input) works.

    Seen without its wires, a layout is a netlist of inverters and buffers. This says what each
    of them computes from the inputs, which of them form a gate together, and which path takes
    longest. With --inputs it also says, for these values, why each output is on or off.

    \b
    Examples:
      gatefit explain xor.json
      gatefit explain xor.json --inputs a=1,b=0
      gatefit explain xor.json --inputs a=1,b=0 -o xor-netlist.svg
    """
    from synth.views.drawing.netlist import netlist_dot, netlist_picture
    from synth.views.explanation import explain
    from synth.views.text.explaining import explain_text
    from synth.views.titles import title_of

    given = in_row(read_layout(layout), copies)
    row = None
    if inputs is not None:
        values = read_inputs(inputs, [pin.name for pin in given.inputs])
        row = int("0" + "".join(map(str, values.values())), 2)
    kind = kind_for(output, kind, KINDS, "text")
    holds = KINDS[kind]
    target = None if output is None else OutputFile(output, holds)
    if target is None:
        require_readable(holds, "netlist.svg")
    announce(given, "an explanation")
    table = read_rules(rules)
    with of_layout(layout):
        found = explain(given, table)
    if kind == "svg":
        text = netlist_picture(found, row).document(f"Netlist of {title_of(given)}")
    elif kind == "dot":
        text = netlist_dot(found)
    else:
        text = explain_text(found, row) + "\n"
    if target is None:
        click.echo(text, nl=False)
    else:
        target.write(text)
        nodes = counted(len(found.netlist.nodes), "node")
        click.echo(f"{target.path}: {nodes}, {counted(len(found.gates), 'gate')}")
    return 0
