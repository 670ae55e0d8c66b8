"""``gatefit library site``: a store as a folder of pages."""

from __future__ import annotations

import sys
from collections.abc import Iterator
from pathlib import Path

import click

from synth.cli.shared.arguments import STORE
from synth.versions import VERSION


@click.command("site", short_help="Make pages of a store, to search and to look at.")
@click.argument("folder", metavar="DIR", type=click.Path())
@STORE
@click.option(
    "--title", default="Gates", show_default=True, metavar="TEXT", help="What the pages are called."
)
def site_command(folder: str, store: str, title: str) -> int:
    """Make a catalogue of the store in the folder DIR.

    Its index.html opens in any browser, on a phone too, and needs no network: gates to search,
    filter and sort, a page for each gate with its truth table and its sizes against delay, and
    for each layout a drawing, the page of 'gatefit view', and files to take along. Every layout
    is judged by the simulator on the way.

    DIR is written whole or not at all. It may be new, empty, or an earlier catalogue, which is
    then replaced. A folder that holds anything else, at any depth, or a page that was changed
    since, is left alone.

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
    files = site_files(gates, title=title, made_by=f"gatefit {VERSION}")
    write_folder(folder, _counted(files), marker=MARKER)
    layouts = sum(len(gate.layouts) for gate in gates)
    holds = f"{_many(len(gates), 'gate')}, {_many(layouts, 'layout')}"
    click.echo(f"{Path(folder, 'index.html')}: {holds}; open it in a browser")
    return 0


def _counted(files: Iterator[tuple[str, str]]) -> Iterator[tuple[str, str]]:
    """The files, counted on a terminal as they come: a large store takes minutes."""
    live = sys.stderr.isatty()
    for number, file in enumerate(files, 1):
        if live and number % 50 == 0:
            click.echo(f"\r{number} files", nl=False, err=True)
        yield file
    if live:
        click.echo("\r" + " " * 20 + "\r", nl=False, err=True)


def _many(count: int, word: str) -> str:
    return f"{count} {word}{'' if count == 1 else 's'}"
