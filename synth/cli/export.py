"""``gatefit export``: a layout for other programs."""

from __future__ import annotations

import sys
from typing import TYPE_CHECKING

import click

from synth.cli.shared.arguments import (
    COPIES,
    DRIVE,
    LAYOUT,
    RULES,
    in_row,
    output_option,
)
from synth.cli.shared.commands import Command
from synth.cli.shared.files import OutputFile, read_layout, read_rules
from synth.cli.shared.kinds import kind_for, require_readable
from synth.cli.shared.large import announce
from synth.cli.shared.placing import placing_options, read_origin
from synth.cli.shared.playing import TICKS, played
from synth.errors import InputError

if TYPE_CHECKING:
    from synth.exports.lines import Placing
    from synth.layout import Layout
    from synth.medium import Rules

KINDS = {
    "svg": "SVG",
    "png": "PNG",
    "gltf": "glTF",
    "vcd": "VCD",
    "verilog": "Verilog",
    "csv": "CSV",
    "lines": "text of any kind",
}
"""What the file of a kind holds; lines may be anything, by the user's own template."""

LINES = {"lines": "plain text"}
"""By its ending a text holds lines."""


@click.command("export", cls=Command, short_help="Write a layout for other programs.")
@LAYOUT
@COPIES
@output_option(
    "Write to this file; its ending says what.  [default: standard output]",
    *(".svg", ".png", ".gltf", ".vcd", ".v", ".csv", ".txt"),
)
@click.option(
    "--as",
    "kind",
    type=click.Choice(tuple(KINDS)),
    help="What to write; see above.  [default: by the ending of FILE]",
)
@DRIVE
@TICKS
@placing_options("For lines: ")
@RULES
def export_command(
    layout: str,
    copies: int | None,
    output: str | None,
    kind: str | None,
    drives: tuple[str, ...],
    ticks: int | None,
    template: str | None,
    names: str | None,
    origin: str | None,
    turn: str | None,
    mirror: str | None,
    rules: str | None,
) -> int:
    """Write the layout in the file LAYOUT ('-': standard input) for another program.

    The ending of the file says what is written; --as says it where no ending does.

    \b
      svg      .svg   a sheet: layers, isometric picture, key, parts
      png      .png   the same sheet in pixels
      gltf     .gltf  a scene of glTF 2.0, one node for each part
      vcd      .vcd   a play as a value change dump (IEEE 1364)
      verilog  .v     the netlist of its inverters and buffers (IEEE 1364)
      csv      .csv   one line for each part: x, y, z, part, orientation, delay
      lines    .txt   one line for each part, in building order, by a template

    --drive and --ticks are for vcd; --template, --names, --origin, --turn and --mirror are for
    lines. A file of names has the tables [parts], with keys such as solid, "inverter -z" or
    "buffer +x 2", and [orientations], with keys such as "+x".

    \b
    Examples:
      gatefit export xor.json -o xor.svg
      gatefit export xor.json --as verilog
      gatefit export xor.json -o xor.vcd --drive a=0011 --drive b=0101
      gatefit export xor.json --as lines --origin 12,0,3 --turn 90
      gatefit export xor.json --as lines --template "{part} at x={x} y={y} z={z}"
    """
    kind = kind_for(output, kind, KINDS | LINES)
    _refuse_strays(
        kind,
        {
            "vcd": {"--drive": bool(drives), "--ticks": ticks is not None},
            "lines": {
                "--template": template is not None,
                "--names": names is not None,
                "--origin": origin is not None,
                "--turn": turn is not None,
                "--mirror": mirror is not None,
            },
        },
    )
    given = in_row(read_layout(layout), copies)
    target = None if output is None else OutputFile(output, KINDS[kind])
    if target is None:
        require_readable(KINDS[kind], "layout.svg")
    if kind == "lines":
        from synth.exports.lines import DEFAULT_TEMPLATE, lines_text, load_names, mirror_warning

        wording = None if names is None else load_names(names)
        placing = _placing(origin, turn, mirror)
        template = DEFAULT_TEMPLATE if template is None else template
        content: str | bytes = lines_text(given, template, wording, placing)
        warning = mirror_warning(template, placing)
        if warning is not None:
            click.echo(f"warning: {warning}", err=True)
    elif kind == "vcd":
        from synth.exports.vcd import vcd

        content = vcd(given, played(given, drives, ticks, read_rules(rules)))
    else:
        content = _plain(kind, given, read_rules(rules))
    _write(content, target)
    return 0


def _plain(kind: str, layout: Layout, rules: Rules) -> str | bytes:
    """What depends on the layout alone."""
    from synth.exports.plain import plain_export

    if kind != "csv":
        announce(layout, {"svg": "a sheet", "png": "a sheet"}.get(kind, f"an export as {kind}"))
    return plain_export(kind, layout, rules)


def _placing(origin: str | None, turn: str | None, mirror: str | None) -> Placing:
    from synth.exports.lines import Placing

    corner = (0, 0, 0) if origin is None else read_origin(origin)
    return Placing(corner, int(turn or "0") // 90, mirror)


def _refuse_strays(kind: str, given: dict[str, dict[str, bool]]) -> None:
    """An option of another kind of export would do nothing; say so."""
    for own, options in given.items():
        for option, there in options.items():
            if there and own != kind:
                raise InputError(
                    f"{option} has no effect on {kind!r}",
                    place=option,
                    way_out=f"leave it out, or use --as {own}",
                )


def _write(content: str | bytes, target: OutputFile | None) -> None:
    if target is not None:
        if isinstance(content, bytes):
            target.write_bytes(content)
        else:
            target.write(content)
        click.echo(f"{target.path}: written")
    elif isinstance(content, str):
        click.echo(content, nl=False)
    elif sys.stdout.isatty():
        raise InputError(
            "a picture cannot be printed on a terminal",
            place="--as",
            way_out="name a file with -o",
        )
    else:
        sys.stdout.buffer.write(content)
        sys.stdout.buffer.flush()
