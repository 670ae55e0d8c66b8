"""``gatefit trace``: plays a layout and writes down what happens, tick by tick."""

from __future__ import annotations

import click

from synth import defaults
from synth.cli.shared.arguments import (
    COPIES,
    DRIVE,
    LAYOUT,
    RULES,
    in_row,
    output_option,
)
from synth.cli.shared.commands import Command
from synth.cli.shared.files import OutputFile, picture_file, read_layout, read_rules
from synth.cli.shared.kinds import kind_for
from synth.cli.shared.playing import TICKS, played
from synth.errors import InputError
from synth.views.text.trace import trace_json, trace_text
from synth.views.titles import title_of
from synth.words import ticks as ticks_text

KINDS = {"json": "JSON", "vcd": "VCD", "text": "plain text"}
"""What the file of a kind holds."""


@click.command("trace", cls=Command, short_help="Play a layout tick by tick.")
@LAYOUT
@COPIES
@DRIVE
@TICKS
@RULES
@output_option(
    "Write the play to this file, and show the values of the pins on the screen.",
    ".json",
    ".vcd",
    ".txt",
)
@click.option(
    "--as",
    "kind",
    type=click.Choice(tuple(KINDS)),
    help="What to write: the trace document, a value change dump, or the values of the pins.  "
    "[default: by the ending of FILE, else json]",
)
@click.option(
    "--plot",
    metavar="FILE",
    help="Draw the play to this file (.svg or .png): the layout from the side, a strip for each "
    "tick at which something changes, from the last change of an input on.",
)
@click.option(
    "--strips",
    type=click.IntRange(2, 200),
    metavar="N",
    help="The most strips to draw; of more ticks some are left out, evenly.  "
    f"[default: {defaults.STRIPS}]",
)
def trace_command(
    layout: str,
    copies: int | None,
    drives: tuple[str, ...],
    ticks: int | None,
    rules: str | None,
    output: str | None,
    kind: str | None,
    plot: str | None,
    strips: int | None,
) -> int:
    """Play the layout in the file LAYOUT ('-': standard input), and print the trace document.

    The play starts at tick 0 with every inverter and buffer off. After a change of the inputs
    the outputs are right as many ticks later as the delay says. The document (JSON) holds for
    each tick the strength of every wire, what is charged and driven, and what is on. With -o it
    goes to that file, and the screen shows the values of the pins. With --plot it does so, too.

    \b
    Examples:
      gatefit trace xor.json --drive a=0011 --drive b=0101 --ticks 8
      gatefit trace xor.json --drive a=01 --drive b=0 -o trace.json
      gatefit trace xor.json -o trace.vcd
      gatefit trace xor.json --as text
      gatefit trace adder.json --copies 4 --drive ... --plot row.svg
    """
    from synth.simulator.explaining.timing import own_delay

    given = in_row(read_layout(layout), copies)
    if strips is not None and plot is None:
        raise InputError(
            "strips are drawn to a file", place="--strips", way_out="name the file with --plot"
        )
    picture = None if plot is None else picture_file(plot, "--plot")
    told = output is not None or (picture is not None and kind is None)
    kind = kind_for(output, kind, KINDS, "json")
    target = None if output is None else OutputFile(output, KINDS[kind])
    table = read_rules(rules)
    document = played(given, drives, ticks, table)
    if picture is not None:
        from synth.exports.pictures import drawn
        from synth.views.drawing.strips import strips_picture

        name, (ending, file) = f"The play of {title_of(given)}", picture
        drawing = strips_picture(given, document, table, most=strips or defaults.STRIPS)
        file.write_bytes(drawn(drawing, name, ending))
    if kind == "vcd":
        from synth.exports.vcd import vcd

        text = vcd(given, document)
    elif kind == "text":
        text = trace_text(document) + "\n"
    else:
        text = trace_json(document)
    if target is not None:
        target.write(text)
    if not told:
        click.echo(text, nl=False)
        return 0
    delay = own_delay(given, table)
    after = "After a change the outputs are right as many ticks later as the delay says"
    if delay is not None:
        after = f"The outputs are right {ticks_text(delay)} after a change"
    said = f"The play starts at tick 0 with every inverter and buffer off. {after}."
    click.echo(f"{said}\n\n{trace_text(document)}")
    return 0
