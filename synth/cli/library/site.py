"""``gatefit library site``: a store as a folder of pages."""

from __future__ import annotations

import sys
from collections.abc import Iterator
from importlib.util import find_spec
from pathlib import Path
from typing import TYPE_CHECKING

import click

from synth.cli.shared.arguments import FOLDER, STORE
from synth.cli.shared.commands import Command
from synth.cli.shared.live_line import LiveLine
from synth.versions import VERSION
from synth.words import counted

if TYPE_CHECKING:
    from synth.views.catalogue import Export


@click.command("site", cls=Command, short_help="Make pages of a store, to search and to look at.")
@FOLDER
@STORE
@click.option(
    "--title", default="Gates", show_default=True, metavar="TEXT", help="The title of the pages."
)
def site_command(folder: str, store: str, title: str) -> int:
    """Make a catalogue of the store: pages to search and to look at, written to FOLDER.

    Open its index.html in any browser, on a phone too; it needs no network. It lists gates to
    search, filter and sort. Each gate has a page with its truth table and its sizes against the
    delay. Each layout has a drawing, the page of 'gatefit view', a building plan, and files to
    download (layout, SVG, PNG, glTF, what was asked). The simulator judges every layout first.

    FOLDER may be new or empty. If it holds an earlier catalogue, that is replaced. A folder that
    holds anything else, or a page that was changed since, is left alone. It is written as a whole
    or not at all.

    \b
    Examples:
      gatefit library site gates
      gatefit library site gates --store other.sqlite --title "Gates, 2 wide"
    """
    from synth import fields
    from synth.library import Store
    from synth.views.catalogue import (
        MARKER,
        check_folder,
        gates_of,
        items_of,
        site_files,
        write_folder,
    )

    fields.line(title, "--title")
    check_folder(folder, marker=MARKER)
    with Store.for_reading(store) as opened:
        gates = gates_of(items_of(opened))
    exports = _exports()
    files = site_files(gates, title=title, made_by=f"gatefit {VERSION}", exports=exports)
    write_folder(folder, _counted(files), marker=MARKER)
    layouts = sum(len(gate.layouts) for gate in gates)
    holds = f"{counted(len(gates), 'gate')}, {counted(layouts, 'layout')}"
    click.echo(f"{Path(folder, 'index.html')}: {holds}; open it in a browser")
    return 0


def _exports() -> list[Export]:
    """PNG and glTF, as far as what draws them is installed; says what is left out."""
    from synth.exports.gltf import gltf
    from synth.exports.pictures import png
    from synth.views.catalogue import Export

    kinds = [("resvg_py", Export("png", "PNG", png)), ("trimesh", Export("gltf", "glTF", gltf))]
    found = [export for module, export in kinds if find_spec(module) is not None]
    missing = [export.words for _, export in kinds if export not in found]
    if missing:
        click.echo(
            f"gatefit: without {' and '.join(missing)} files, which need "
            "pip install 'gatefit[export]'",
            err=True,
        )
    return found


def _counted(files: Iterator[tuple[str, str | bytes]]) -> Iterator[tuple[str, str | bytes]]:
    """The files, counted on a terminal as they come: a large store takes minutes."""
    line = LiveLine(sys.stderr)
    for number, file in enumerate(files, 1):
        if line.live and number % 50 == 0:
            line.show(f"{number} files")
        yield file
    line.clear()
