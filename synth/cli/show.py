"""``gatefit show``: a layout as layers of text, or as a drawing or document again."""

from __future__ import annotations

import os
import shutil
import sys

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
from synth.cli.shared.files import OutputFile, read_layout, read_rules
from synth.cli.shared.kinds import kind_for
from synth.cli.shared.playing import MAX_TICKS
from synth.errors import InputError
from synth.layout import Layout
from synth.layout.documents import layout_text as document_text
from synth.layout.drawing import DRAWING_ENDING

KINDS = {"text": "plain text", "drawing": "a drawing", "json": "JSON"}
"""What may be shown, and what a file of it holds."""


@click.command("show", cls=Command, short_help="Draw the layers of a layout as text.")
@LAYOUT
@COPIES
@INPUTS
@click.option(
    "--tick",
    type=click.IntRange(0, MAX_TICKS - 1),
    metavar="N",
    help="With --inputs: show the power at this tick; the inputs change at tick 0.  [default: when "
    "everything has settled]",
)
@RULES
@output_option(
    "Write to this file; its ending says what.  [default: standard output]",
    *(".txt", DRAWING_ENDING, ".json"),
)
@click.option(
    "--as",
    "kind",
    type=click.Choice(tuple(KINDS)),
    help="What to write: the page of text, a drawing to edit, or the layout's document.  "
    "[default: by the ending of FILE, else text]",
)
def show_command(
    layout: str,
    copies: int | None,
    inputs: str | None,
    tick: int | None,
    rules: str | None,
    output: str | None,
    kind: str | None,
) -> int:
    """Draw the layers of the layout in the file LAYOUT ('-': standard input).

    Each layer is seen from above, with two characters for each cell. A legend, the pins, the size
    and the number of parts follow. Layouts that are not legal are drawn as well; 'gatefit check'
    judges them. If the file says what the layout was made for, the last line says whether it
    does that.

    With --inputs the drawing shows what has power. The layout is played from tick 0, where every
    inverter and buffer is off and the inputs get their values. On a terminal the drawing has
    colours, unless the variable NO_COLOR is set.

    What is shown can be edited and read again: every command that takes a layout takes it. A
    drawing (.drawing) has only what a person has to type.

    \b
    Examples:
      gatefit show xor.json
      gatefit show xor.json -o xor.drawing
      gatefit show xor.drawing -o xor.json
      gatefit show xor.json --inputs a=1,b=0
      gatefit show xor.json --inputs a=1,b=0 --tick 1
      gatefit solve "q = a & b" --json | gatefit show -
    """
    kind = kind_for(output, kind, KINDS, default="text")
    if tick is not None and inputs is None:
        raise click.UsageError("--tick needs --inputs as well: without inputs nothing has power")
    if kind != "text" and inputs is not None:
        raise InputError(
            f"--inputs has no effect on {kind!r}",
            place="--inputs",
            way_out="leave it out, or use --as text",
        )
    given = in_row(read_layout(layout), copies)
    target = None if output is None else OutputFile(output, KINDS[kind])
    if kind == "text":
        text = _page(given, inputs, tick, rules, _width(output))
    else:
        text = given.drawing() if kind == "drawing" else document_text(given)
    if target is not None:
        target.write(text)
        click.echo(f"{target.path}: written")
    elif kind == "text" and _colours():
        from synth.views.text.layers import painted

        # click strips the colours where the output is no terminal.
        click.echo(painted(text), nl=False)
    else:
        click.echo(text, nl=False)
    return 0


def _page(
    given: Layout, inputs: str | None, tick: int | None, rules: str | None, width: int
) -> str:
    """Everything there is to show of a layout, with what has power where inputs are given."""
    from synth.simulator import check
    from synth.simulator.explaining.timing import CHANGE, own_delay, settled_by, timing_words
    from synth.simulator.made_for import spec_made_for
    from synth.simulator.settling import MAX_SETTLED_INPUTS
    from synth.views.text.layers import Power, heading_text, layout_text
    from synth.views.text.purpose import purpose_text

    head, power = "", None
    if inputs is not None:
        from synth.simulator import trace

        table = read_rules(rules)
        values = read_inputs(inputs, [pin.name for pin in given.inputs])
        when = "Settled" if tick is None else f"Tick {tick}"
        last = settled_by(given, table)
        if tick is None:
            tick = last
        document = trace(given, {name: str(v) for name, v in values.items()}, tick + 1, rules=table)
        power = Power.of_tick(document["ticks"][tick])
        words = [f"{name}={value}" for name, value in values.items()]
        words += [f"{name}={word[tick]}" for name, word in document["outputs"].items()]
        delay = own_delay(given, table)
        timing = f"{CHANGE}; nothing changes after tick {last}."
        if delay is not None or len(given.inputs) <= MAX_SETTLED_INPUTS:
            timing = timing_words(delay)
        head = f"{when}: {' '.join(words)}\n{timing}\n\n"
    text = layout_text(given, width=width, power=power)
    said = heading_text(given)
    if said:
        text += f"\n\n{said}"
    purpose = spec_made_for(given)
    if purpose is not None:
        judged = purpose_text(given, check(given, purpose, rules=read_rules(rules)))
        text += f"\n\n{judged}"
    return f"{head}{text}\n"


def _colours() -> bool:
    """Whether to colour: in a terminal, unless NO_COLOR asks for none (common practice)."""
    if os.environ.get("NO_COLOR") or os.environ.get("TERM") == "dumb":
        return False
    return sys.stdout.isatty()


def _width(output: str | None = None) -> int:
    """The width of the terminal, or of a page where there is none."""
    from synth.words import WIDTH

    if output is not None or not sys.stdout.isatty():
        return WIDTH
    return max(20, shutil.get_terminal_size((WIDTH, 24)).columns)
