"""``gatefit explain``: how a layout works, in words or as a drawn netlist."""

from __future__ import annotations

from pathlib import Path

import click

from synth.cli.shared.arguments import INPUTS, LAYOUT, RULES, read_inputs
from synth.cli.shared.files import OutputFile, read_layout, read_rules
from synth.cli.shared.kinds import require_readable
from synth.cli.shared.large import announce
from synth.words import counted


@click.command("explain", short_help="Say how a layout works, or draw its netlist.")
@LAYOUT
@INPUTS
@click.option(
    "--as",
    "kind",
    type=click.Choice(["text", "svg", "dot"]),
    help="Words, a drawing, or a graph for other programs. [default: by the name of FILE]",
)
@click.option("--output", "-o", metavar="FILE", help="Write it there.")
@RULES
def explain_command(
    layout: str, inputs: str | None, kind: str | None, output: str | None, rules: str | None
) -> int:
    """Say how the layout in the file LAYOUT ('-': standard input) works.

    Every inverter is off while anything that it sees is on, every buffer on: with the wires
    seen through, a layout is a netlist of gates. This names what each node computes from the
    inputs, which inverters and buffers form which gate, and the critical path. With --inputs it
    gives the chain of causes from the pins to the outputs for that assignment.

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

    given = read_layout(layout)
    row = None
    if inputs is not None:
        values = read_inputs(inputs, [pin.name for pin in given.inputs])
        row = int("0" + "".join(map(str, values.values())), 2)
    ending = Path(output or "").suffix.lower()
    kind = kind or {".svg": "svg", ".dot": "dot", ".gv": "dot"}.get(ending, "text")
    holds = {"svg": "SVG", "dot": "DOT", "text": "plain text"}[kind]
    target = None if output is None else OutputFile(output, holds)
    if target is None:
        require_readable(holds, "netlist.svg")
    announce(given, "an explanation")
    found = explain(given, read_rules(rules))
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
