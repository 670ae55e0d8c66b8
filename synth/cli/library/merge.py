"""``gatefit library merge``: what another store knows, taken over."""

from __future__ import annotations

import click

from synth.cli.shared.arguments import STORE
from synth.cli.shared.commands import Command
from synth.cli.shared.completing import files
from synth.cli.shared.files import json_line

MOST_SHOWN = 20


@click.command("merge", cls=Command, short_help="Add what another store knows.")
@click.argument(
    "other", metavar="OTHER", type=click.Path(dir_okay=False), shell_complete=files(".sqlite")
)
@STORE
@click.option("--json", "as_json", is_flag=True, help="Print only the report as a JSON document.")
def merge_command(other: str, store: str, as_json: bool) -> int:
    """Add to the store what another store, OTHER, knows. OTHER stays as it is.

    The simulator judges each layout before it is added. A better layout replaces a worse one; a
    final answer is never lost. Some answers say that nothing smaller exists, or nothing at all.
    Without a certificate these are believed, and the report says how many they are.

    \b
    Examples:
      gatefit library merge friend.sqlite
      gatefit library merge friend.sqlite --store ours.sqlite --json

    \b
    Exit codes:
      0  the store knows all of it now     2  the input cannot be used
      1  something was refused
    """
    from synth.library import Store
    from synth.library.merge import merge

    with Store.copy_of(other) as theirs, Store(store) as ours:
        done = merge(ours, theirs)
        total = ours.count()
    if as_json:
        click.echo(json_line(done.document()))
        return 1 if done.refused else 0
    for finding in done.refused[:MOST_SHOWN]:
        click.echo(f"refused, {finding.where} of {other}: {finding.text}")
    if (more := len(done.refused) - MOST_SHOWN) > 0:
        click.echo(f"and {more} more; --json lists all")
    beyond = f"{done.beyond} beyond the limits taken, " if done.beyond else ""
    click.echo(
        f"{store}: {done.taken} added, {done.improved} improved, {done.kept} unchanged, {beyond}"
        f"{len(done.refused)} refused; {total} entries now"
    )
    if done.on_its_word:
        click.echo(f"{done.on_its_word} of these have no certificate; you have to trust {other}")
    return 1 if done.refused else 0
