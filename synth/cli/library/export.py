"""``gatefit library export``: layouts of a store as files."""

from __future__ import annotations

import json
import re
from collections.abc import Iterator
from typing import TYPE_CHECKING, Any

import click

from synth.cli.library.list import filters, query_of
from synth.cli.shared.arguments import FOLDER, STORE
from synth.cli.shared.commands import Command
from synth.words import counted

if TYPE_CHECKING:
    from synth.library import Store
    from synth.library.entry import Entry

INDEX = "index.json"
KIND = "export"
FORMAT = f"gatefit-{KIND}"
VERSION = 1


@click.command("export", cls=Command, short_help="Write layouts of a store as files.")
@FOLDER
@STORE
@filters
def export_entries_command(folder: str, store: str, **options: Any) -> int:
    """Write the layouts of a store to FOLDER, each as a file of its own.

    The file index.json says what each entry is and which file holds its layout. A file whose name
    ends in '-beyond' holds a layout beyond the limits of its question, which is no answer to it.
    Options choose the entries, as for 'gatefit library list'. The simulator judges every layout
    first.

    FOLDER may be new or empty. If it holds an earlier export, that is replaced. It is written as
    a whole or not at all.

    \b
    Examples:
      gatefit library export layouts
      gatefit library export small --volume 20 --proven
      gatefit library export two --arity 2 --stack y --store other.sqlite
    """
    from synth.library import Store
    from synth.views.catalogue import check_folder, write_folder

    check_folder(folder, marker=INDEX, kind=KIND)
    with Store.for_reading(store) as opened:
        entries = list(opened.entries(query_of(options)))
        write_folder(folder, export_files(opened, entries), marker=INDEX, kind=KIND)
    layouts = sum(entry.volume is not None for entry in entries)
    beyond = sum(entry.beyond is not None for entry in entries)
    more = f", {beyond} beyond the limits of their questions" if beyond else ""
    holds = f"{counted(len(entries), 'entry')}, {counted(layouts, 'layout')}{more}"
    click.echo(f"{folder}/{INDEX}: {holds}")
    return 0


def export_files(store: Store, entries: list[Entry]) -> Iterator[tuple[str, str]]:
    """Name and text of each file, the index last."""
    from synth.layout.documents import layout_text

    listed = []
    names = []
    for entry in entries:
        file = None
        if entry.volume is not None:
            file = file_name(entry)
            names.append(file)
            yield file, layout_text(store.layout(entry.number))
        beyond = None
        if entry.beyond is not None:
            beyond = file_name(entry, "-beyond")
            names.append(beyond)
            yield beyond, layout_text(store.layout_beyond(entry.number))
        listed.append(
            {
                "file": file,
                "beyond_file": beyond,
                "entry": entry.document(),
                "asked": store.asked(entry.number).document(),
                "claim": store.claim(entry.number),
            }
        )
    index = {
        "format": FORMAT,
        "version": VERSION,
        "contents": sorted([*names, INDEX]),
        "entries": listed,
    }
    yield INDEX, json.dumps(index, indent=1, ensure_ascii=False) + "\n"


def file_name(entry: Entry, ending: str = "") -> str:
    """``0012-exclusive-or.json``: the number, and the name as far as files may have it."""
    words = re.sub(r"[^a-z0-9]+", "-", entry.name.lower()).strip("-")[:40].strip("-")
    return f"{entry.number:04}{'-' + words if words else ''}{ending}.json"
