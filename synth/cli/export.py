"""``gatefit export``: a layout for other programs."""

from __future__ import annotations

import sys
from typing import TYPE_CHECKING

import click

from synth import fields
from synth.cli.shared.arguments import LAYOUT, RULES
from synth.cli.shared.files import OutputFile, read_layout, read_rules
from synth.cli.shared.kinds import require_readable
from synth.cli.shared.large import announce
from synth.cli.trace import MAX_TICKS, read_words
from synth.errors import InputError

if TYPE_CHECKING:
    from synth.exports.lines import Placing
    from synth.layout import Layout
    from synth.medium import Rules

MAX_ORIGIN = 1_000_000_000
"""Largest coordinate of an origin."""

HOLDS = {
    "svg": "SVG",
    "png": "PNG",
    "gltf": "glTF",
    "vcd": "VCD",
    "verilog": "Verilog",
    "csv": "CSV",
}
"""What the file of a kind holds; lines may be anything, by the user's own template."""

KINDS = ("svg", "png", "gltf", "vcd", "verilog", "csv", "lines")


@click.command("export", short_help="Write a layout for other programs.")
@LAYOUT
@click.option(
    "--as", "kind", type=click.Choice(KINDS), required=True, help="What to write; see above."
)
@click.option("--output", "-o", metavar="FILE", help="Write it there.")
@click.option(
    "--drive",
    "drives",
    multiple=True,
    metavar="NAME=WORD",
    help="vcd: what an input does, a 0 or 1 for each tick. Without any: all assignments in turn.",
)
@click.option(
    "--ticks", type=click.IntRange(1, MAX_TICKS), metavar="N", help="vcd: how many ticks to play."
)
@click.option(
    "--template",
    metavar="TEXT",
    help="lines: one line a part, of {x} {y} {z} {part} {orientation} {delay} {number}: for "
    "example '{number}: {part} {orientation} at x={x} y={y} z={z}'.",
)
@click.option(
    "--names",
    metavar="FILE",
    type=click.Path(),
    help="lines: what your world calls parts and orientations (TOML).",
)
@click.option("--origin", metavar="X,Y,Z", help="lines: where cell (0, 0, 0) goes.")
@click.option(
    "--turn",
    type=click.Choice(["0", "90", "180", "270"]),
    help="lines: degrees seen from above, +x to +y.",
)
@click.option(
    "--mirror", type=click.Choice(["x", "y"]), help="lines: mirror along that axis first."
)
@RULES
def export_command(
    layout: str,
    kind: str,
    output: str | None,
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

    \b
      svg      a sheet: layers, isometric picture, key, parts
      png      the same sheet in pixels
      gltf     a scene of glTF 2.0, a node a part
      vcd      a played trace as a value change dump (IEEE 1364)
      verilog  the netlist of its inverters and buffers (IEEE 1364)
      csv      a line a part: x, y, z, part, orientation, delay
      lines    a line a part by a template of your own, in building order

    A file of names has tables [parts], with keys such as solid, "inverter -z" or
    "buffer +x 2", and [orientations], with keys such as "+x".

    \b
    Examples:
      gatefit export xor.json --as svg -o xor.svg
      gatefit export xor.json --as verilog
      gatefit export xor.json --as vcd --drive a=0011 --drive b=0101 -o xor.vcd
      gatefit export xor.json --as lines --origin 12,0,3 --turn 90
      gatefit export xor.json --as lines --template "{part} at x={x} y={y} z={z}"
    """
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
    given = read_layout(layout)
    target = None if output is None else OutputFile(output, HOLDS.get(kind, "text of any kind"))
    if target is None:
        require_readable(HOLDS.get(kind, ""), "layout.svg")
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
        content = _vcd(given, drives, ticks, read_rules(rules))
    else:
        content = _plain(kind, given, read_rules(rules))
    _write(content, target)
    return 0


def _plain(kind: str, layout: Layout, rules: Rules) -> str | bytes:
    """What depends on the layout alone."""
    if kind != "csv":
        announce(layout, {"svg": "a sheet", "png": "a sheet"}.get(kind, f"an export as {kind}"))
    if kind == "svg":
        from synth.exports.pictures import svg

        return svg(layout)
    if kind == "png":
        from synth.exports.pictures import png

        return png(layout)
    if kind == "gltf":
        from synth.exports.gltf import gltf

        return gltf(layout)
    if kind == "verilog":
        from synth.exports.verilog import verilog

        return verilog(layout, rules)
    from synth.exports.lines import csv_text

    return csv_text(layout)


def _vcd(layout: Layout, drives: tuple[str, ...], ticks: int | None, rules: Rules) -> str:
    from synth.exports.vcd import all_assignments, vcd
    from synth.simulator import trace

    words = read_words(drives) if drives else all_assignments(layout, rules)
    if ticks is None:
        ticks = max([12, *(len(word) + (4 if drives else 0) for word in words.values())])
    return vcd(layout, trace(layout, words, min(ticks, MAX_TICKS), rules=rules))


def _placing(origin: str | None, turn: str | None, mirror: str | None) -> Placing:
    from synth.exports.lines import Placing

    corner = (0, 0, 0)
    if origin is not None:
        try:
            x, y, z = (int(word) for word in origin.split(","))
        except ValueError:
            raise InputError(
                f"cannot read {fields.shown(origin)}",
                place="--origin",
                way_out="write three whole numbers: 12,0,3",
            ) from None
        if max(map(abs, (x, y, z))) > MAX_ORIGIN:
            raise InputError(
                f"{fields.shown(origin)} is too far away",
                place="--origin",
                way_out=f"use numbers up to {MAX_ORIGIN:,}",
            )
        corner = (x, y, z)
    return Placing(corner, int(turn or "0") // 90, mirror)


def _refuse_strays(kind: str, given: dict[str, dict[str, bool]]) -> None:
    """An option of another kind of export would do nothing; say so."""
    for own, options in given.items():
        for option, there in options.items():
            if there and own != kind:
                raise InputError(
                    f"{option} does nothing for {kind!r}",
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
            "a picture in pixels is nothing for a terminal",
            place="--as",
            way_out="name a file with -o",
        )
    else:
        sys.stdout.buffer.write(content)
        sys.stdout.buffer.flush()
