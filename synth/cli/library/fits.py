"""``gatefit library find --fits``: every function of a store that a box holds."""

from __future__ import annotations

from typing import Any

import click

from synth.cli.library.table import entry_lines
from synth.cli.shared.arguments import at_option
from synth.cli.shared.files import json_line
from synth.errors import InputError
from synth.layout.pins import show_size
from synth.words import counted

FORMAT = "gatefit-library-fits"
VERSION = 1

_FILTERS = ("length", "width", "height", "volume", "floor", "parts", "delay", "stack")
_OTHERS = ("pitch", "chain", "link_delay", "ground", "input_faces", "output_faces")


def show_fitting(store: str, box: str, most: int | None, as_json: bool, asked: Any) -> int:
    """Print what fits a box; the exit code.

    Args:
        store: the file.
        box: as it was given.
        most: show at most so many, or None.
        as_json: print a document.
        asked: the options of ``library find`` that say what is asked of a layout.

    Raises:
        InputError: if the box is none, or an option says nothing of what fits.
    """
    from synth.cli.census import read_box
    from synth.library import Store
    from synth.library.entry import Query
    from synth.library.fitting import fitting

    with at_option("--fits"):
        size = read_box(box)
    for name in _OTHERS:
        value = asked.get(name)
        if value is not None and value is not False and value != ():
            option = f"--{name.replace('_faces', '_face').replace('_', '-')}"
            raise InputError(
                "it says nothing of what fits", place=option, way_out="leave it out with --fits"
            )
    query = Query(joints=asked["joint"], **{name: asked[name] for name in _FILTERS})
    with Store.for_reading(store) as opened:
        found = fitting(opened, size, query)
        shown = found[:most]
        lines = entry_lines(opened, shown)
    if as_json:
        click.echo(
            json_line(
                {
                    "format": FORMAT,
                    "version": VERSION,
                    "box": list(size),
                    "entries": [entry.document() for entry in shown],
                }
            )
        )
        return 0 if found else 1
    more = "" if len(shown) == len(found) else f"; {counted(len(shown), 'layout')} shown"
    within = "" if asked["delay"] is None else f" within {counted(asked['delay'], 'tick')}"
    said = f"{counted(len(found), 'layout')} of different functions fit {show_size(size)}{within}"
    click.echo("\n".join([*lines, f"{said}{more}."]))
    return 0 if found else 1
