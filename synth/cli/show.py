"""``gatefit show``: a layout as layers of text."""

from __future__ import annotations

import os
import shutil
import sys

import click

from synth.cli.shared.arguments import INPUTS, LAYOUT, RULES, read_inputs
from synth.cli.shared.commands import Command
from synth.cli.shared.files import read_layout, read_rules
from synth.cli.shared.playing import MAX_TICKS


@click.command("show", cls=Command, short_help="Draw the layers of a layout as text.")
@LAYOUT
@INPUTS
@click.option(
    "--tick",
    type=click.IntRange(0, MAX_TICKS - 1),
    metavar="N",
    help="With --inputs: show the power at this tick; the inputs change at tick 0.  [default: when "
    "everything has settled]",
)
@RULES
def show_command(layout: str, inputs: str | None, tick: int | None, rules: str | None) -> int:
    """Draw the layers of the layout in the file LAYOUT ('-': standard input).

    Each layer is seen from above, with two characters for each cell. A legend, the pins, the size
    and the number of parts follow. Layouts that are not legal are drawn as well; 'gatefit check'
    judges them. If the file says what the layout was made for, the last line says whether it
    does that.

    With --inputs the drawing shows what has power. The layout is played from tick 0, where every
    inverter and buffer is off and the inputs get their values. On a terminal the drawing has
    colours, unless the variable NO_COLOR is set.

    \b
    Examples:
      gatefit show xor.json
      gatefit show xor.json --inputs a=1,b=0
      gatefit show xor.json --inputs a=1,b=0 --tick 1
      gatefit solve "q = a & b" --json | gatefit show -
    """
    from synth.simulator import check
    from synth.simulator.explaining.timing import own_delay, timing_words
    from synth.simulator.made_for import spec_made_for
    from synth.views.text.layers import Power, layout_text, painted
    from synth.views.text.purpose import purpose_text

    given = read_layout(layout)
    if tick is not None and inputs is None:
        raise click.UsageError("--tick needs --inputs as well: without inputs nothing has power")
    head, power = "", None
    if inputs is not None:
        from synth.simulator import settle, trace

        table = read_rules(rules)
        values = read_inputs(inputs, [pin.name for pin in given.inputs])
        when = "Settled" if tick is None else f"Tick {tick}"
        if tick is None:
            tick = len(settle(given, table).ticks) - 1
        document = trace(given, {name: str(v) for name, v in values.items()}, tick + 1, rules=table)
        power = Power.of_tick(document["ticks"][tick])
        words = [f"{name}={value}" for name, value in values.items()]
        words += [f"{name}={word[tick]}" for name, word in document["outputs"].items()]
        timing = timing_words(own_delay(given, table))
        head = f"{when}: {' '.join(words)}\n{timing}\n\n"
    text = layout_text(given, width=_width(), power=power)
    purpose = spec_made_for(given)
    if purpose is not None:
        said = purpose_text(given, check(given, purpose, rules=read_rules(rules)))
        text += f"\n\n{said}"
    # click strips the colours where the output is no terminal.
    click.echo(head + (painted(text) if _colours() else text))
    return 0


def _colours() -> bool:
    """Whether to colour: in a terminal, unless NO_COLOR asks for none (common practice)."""
    if os.environ.get("NO_COLOR") or os.environ.get("TERM") == "dumb":
        return False
    return sys.stdout.isatty()


def _width() -> int:
    """The width of the terminal, or of a page where there is none."""
    from synth.views.text.layers import WIDTH

    if not sys.stdout.isatty():
        return WIDTH
    return max(20, shutil.get_terminal_size((WIDTH, 24)).columns)
