"""``gatefit import``: a layout from a list of parts."""

from __future__ import annotations

import re
from pathlib import Path

import click

from synth import fields
from synth.cli.shared.arguments import at_option, output_option
from synth.cli.shared.commands import Command
from synth.cli.shared.completing import files
from synth.cli.shared.files import (
    STANDARD_INPUT,
    OutputFile,
    read_layout,
    standard_input,
)
from synth.cli.shared.kinds import ENDINGS, kind_for
from synth.cli.shared.placing import placing_options, read_origin
from synth.errors import InputError
from synth.files import read_text
from synth.layout import Layout, Pin
from synth.layout.documents import layout_text
from synth.layout.drawing import DRAWING_ENDING
from synth.layout.drawing.listed import read_pin
from synth.medium import Size
from synth.words import counted

KINDS = {"drawing": "a drawing", "json": "JSON"}
"""What may be written."""

_SIZE = re.compile(r"([0-9]{1,6})x([0-9]{1,6})x([0-9]{1,6})")


@click.command("import", cls=Command, short_help="Make a layout of a list of parts.")
@click.argument("file", metavar="FILE", type=click.Path(), shell_complete=files(".csv", ".txt"))
@output_option(
    "Write the layout to this file; its ending says how.  [default: a drawing, to standard output]",
    *(DRAWING_ENDING, ".json"),
)
@click.option(
    "--from",
    "kind",
    type=click.Choice(["csv", "lines"]),
    help="What FILE is.  [default: by its ending, .csv or .txt]",
)
@click.option(
    "--as",
    "form",
    type=click.Choice(tuple(KINDS)),
    help="What to write.  [default: by the ending of the file written, else a drawing]",
)
@placing_options("As the list was written: ")
@click.option(
    "--size",
    metavar="LxWxH",
    help="The size of the layout, such as 5x2x4.  [default: as far as its parts reach]",
)
@click.option(
    "--pin",
    "pins",
    multiple=True,
    metavar="TEXT",
    help="A pin of the layout, such as 'a input cell [0, 1, 3] face -x joint wire'. Repeat it for "
    "each pin.",
)
@click.option(
    "--like",
    metavar="LAYOUT",
    type=click.Path(),
    shell_complete=files(".json", DRAWING_ENDING),
    help="Take from this layout what a list does not say: pins, size, stacking, ground, name, and "
    "what it was made for.",
)
def import_command(
    file: str,
    output: str | None,
    kind: str | None,
    form: str | None,
    template: str | None,
    names: str | None,
    origin: str | None,
    turn: str | None,
    mirror: str | None,
    size: str | None,
    pins: tuple[str, ...],
    like: str | None,
) -> int:
    """Read the list of parts in FILE ('-': standard input) as a layout.

    It reads what 'gatefit export --as csv' and '--as lines' write, and such lists from elsewhere:
    one line for each part, with its cell. --template, --names, --turn and --mirror are those that
    the lines were written with; the layout is mirrored and turned back. Without --origin the list
    is moved so that its least coordinates become 0, unless --size or --like says how large the
    layout is and the list lies in that box as it stands.

    A list says nothing of pins. Take them from a layout (--like), give them (--pin), or draw them:
    a drawing is what is written if you do not ask for JSON. If the lines do not say the delay of a
    buffer, it is 1 tick.

    \b
    Examples:
      gatefit import xor.csv --like xor.json -o rebuilt.json
      gatefit import parts.txt --names names.toml -o found.drawing
      gatefit import parts.txt --template "{part} at {x} {y} {z}" --turn 90
      gatefit import not.csv --pin "a input cell [0, 0, 0] face -x"
    """
    from synth.exports.lines import DEFAULT_TEMPLATE, Names, Placing, load_names
    from synth.exports.reading import assembled, read_csv, read_lines

    kind = kind or _kind(file)
    if kind == "csv" and template is not None:
        raise InputError(
            "--template has no effect on 'csv'",
            place="--template",
            way_out="leave it out, or use --from lines",
        )
    model = None if like is None else read_layout(like)
    with at_option("--pin"):
        given = [read_pin(pin) for pin in pins]
    box = model.size if model is not None and size is None else _size(size)
    corner = None if origin is None else read_origin(origin)
    wording = Names() if names is None else load_names(names)
    held = KINDS[kind_for(output, form, KINDS, default="drawing")]
    target = None if output is None else OutputFile(output, held)
    name = "standard input" if file == STANDARD_INPUT else file
    try:
        text = standard_input() if file == STANDARD_INPUT else read_text(file)
        if kind == "csv":
            entries = read_csv(text)
        else:
            entries = read_lines(text, template or DEFAULT_TEMPLATE, wording)
        placing = Placing(quarters=int(turn or "0") // 90, mirror=mirror)
        found = assembled(entries, wording, placing, origin=corner, size=box)
    except InputError as error:
        of_option = (error.place or "").startswith("--")
        raise error if of_option else error.in_file(name) from None
    layout = _completed(found.layout, model, given)
    other_purpose = _is_of_other_pins(layout)
    if other_purpose:
        layout = layout.replace(made_for=None)
    written = layout_text(layout) if held == "JSON" else layout.drawing()
    if target is None:
        click.echo(written, nl=False)
    else:
        target.write(written)
        click.echo(f"{target.path}: written")
    if found.guessed:
        click.echo(
            f"gatefit: the list does not say the delay of {counted(found.guessed, 'buffer')}; the "
            "least there may be is taken",
            err=True,
        )
    if other_purpose:
        click.echo(
            f"gatefit: what {fields.shown(like)} was made for is left out: its pins are not those "
            "that --pin gives",
            err=True,
        )
    if not layout.pins:
        click.echo(
            "gatefit: the layout has no pins: give them with --pin or --like, or draw them",
            err=True,
        )
    return 0


def _kind(file: str) -> str:
    """What a file holds by its ending."""
    ending = Path(file).suffix.lower()
    for kind, holds in (("csv", "CSV"), ("lines", "plain text")):
        if ending in ENDINGS[holds]:
            return kind
    name = "standard input" if file == STANDARD_INPUT else file
    raise InputError(
        f"nothing says what {fields.shown(name)} holds", place="--from", way_out="add csv or lines"
    )


def _completed(layout: Layout, model: Layout | None, pins: list[Pin]) -> Layout:
    """The layout with what a list does not say."""
    if model is not None:
        with at_option("--like"):
            layout = model.replace(size=layout.size, cells=layout.cells)
    if not pins:
        return layout
    with at_option("--pin"):
        return layout.replace(pins=pins)


def _is_of_other_pins(layout: Layout) -> bool:
    """Whether it says that it was made for a function of pins that it has not got.

    No command reads such a file.
    """
    from synth.simulator.made_for import spec_made_for

    try:
        spec_made_for(layout)
    except InputError:
        return True
    return False


def _size(text: str | None) -> Size | None:
    if text is None:
        return None
    found = _SIZE.fullmatch(text.replace(" ", ""))
    if found is None:
        raise InputError(
            f"{fields.shown(text)} is no size",
            place="--size",
            way_out="write length, width and height: 5x2x4",
        )
    return (int(found[1]), int(found[2]), int(found[3]))
