"""``gatefit trace``: plays a layout and writes down what happens, tick by tick."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any

import click

from synth.cli.shared.arguments import LAYOUT, RULES
from synth.cli.shared.files import OutputFile, read_layout, read_rules
from synth.errors import InputError
from synth.views.text.trace import trace_json, trace_text
from synth.words import ticks as ticks_text

MAX_TICKS = 1_000_000
"""Most ticks that one run plays: a slip of the keyboard should not fill a disk."""


@click.command("trace", short_help="Play a layout tick by tick.")
@LAYOUT
@click.option(
    "--drive",
    "drives",
    multiple=True,
    metavar="NAME=WORD",
    help="What an input does: a 0 or 1 for each tick, the last one kept. Once for each input.",
)
@click.option(
    "--ticks",
    type=click.IntRange(1, MAX_TICKS),
    default=12,
    show_default=True,
    metavar="N",
    help="How many ticks to play.",
)
@RULES
@click.option(
    "--output", metavar="FILE", help="Write the trace document there and show the words here."
)
def trace_command(
    layout: str, drives: tuple[str, ...], ticks: int, rules: str | None, output: str | None
) -> int:
    """Play the layout in the file LAYOUT ('-': standard input) and print the trace document.

    The play starts at tick 0 with every inverter and buffer off; outputs are right so many ticks
    after a change of the inputs as the delay says. The document (JSON) holds for each tick
    the strength of every wire, what is charged and driven, and what is on. With --output it
    goes into that file, and the words of the pins are shown instead.

    \b
    Examples:
      gatefit trace xor.json --drive a=0011 --drive b=0101 --ticks 8
      gatefit trace xor.json --drive a=01 --drive b=0 --output trace.json
    """
    from synth.simulator import trace
    from synth.simulator.explaining.timing import own_delay

    given = read_layout(layout)
    target = None if output is None else OutputFile(output)
    table = read_rules(rules)
    document = trace(given, read_words(drives), ticks, rules=table)
    if target is None:
        click.echo(trace_json(document), nl=False)
    else:
        target.write(trace_json(document))
        delay = own_delay(given, table)
        after = "outputs are right as many ticks after a change as the delay has"
        if delay is not None:
            after = f"the outputs are right {ticks_text(delay)} after a change"
        said = f"The play starts at tick 0 with every inverter and buffer off; {after}."
        click.echo(f"{said}\n\n{trace_text(document)}")
    return 0


def read_words(drives: Iterable[str]) -> Mapping[str, Any]:
    """The words of ``--drive a=0011``, by input.

    Raises:
        InputError: if one cannot be read or an input is driven twice.
    """
    words: dict[str, str] = {}
    for drive in drives:
        name, equals, word = drive.partition("=")
        if not equals or not name:
            raise InputError(
                f"cannot read {drive!r}", place="--drive", way_out="write it as a=0011"
            )
        if name in words:
            raise InputError(
                f"the input {name!r} is driven twice", place="--drive", way_out="drive it once"
            )
        words[name] = word
    return words
