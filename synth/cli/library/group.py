"""``gatefit library``: the store of answers, and what is done with many of them."""

from __future__ import annotations

import click

from synth.cli.library.add import add_command
from synth.cli.library.build import build_command
from synth.cli.library.export import export_entries_command
from synth.cli.library.find import find_command
from synth.cli.library.list import list_command
from synth.cli.library.merge import merge_command
from synth.cli.library.show import show_entry_command
from synth.cli.library.site import site_command
from synth.cli.library.verify import verify_command
from synth.cli.shared.commands import Commands


@click.group("library", cls=Commands, short_help="Keep, find and share answers.")
def library_command() -> None:
    """Keep answers in a store, find them again, share them.

    A store is one file (SQLite). For every question it keeps the best answer so far: a layout, or
    that there is none, and what that rests on. Name the file with --store, or with the variable
    GATEFIT_STORE.

    \b
    Examples:
      gatefit library build gates.toml
      gatefit library list --arity 2 --proven
      gatefit library show 12
      gatefit library find xor2 --width 2 --stack y
      gatefit library merge friend.sqlite
    """


library_command.add_command(build_command)
library_command.add_command(add_command)
library_command.add_command(list_command)
library_command.add_command(show_entry_command)
library_command.add_command(find_command)
library_command.add_command(export_entries_command)
library_command.add_command(merge_command)
library_command.add_command(verify_command)
library_command.add_command(site_command)
