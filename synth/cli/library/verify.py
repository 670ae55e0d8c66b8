"""``gatefit library verify``: a store played again from end to end."""

from __future__ import annotations

import sys

import click

from synth.cli.shared.arguments import STORE
from synth.cli.shared.files import json_line
from synth.cli.shared.searching import QUIET
from synth.words import counted

MOST_SHOWN = 10
"""Answers listed that are not shown by what is kept."""


@click.command("verify", short_help="Play every layout of a store again, audit certificates.")
@STORE
@click.option(
    "--proofs/--no-proofs",
    default=True,
    show_default=True,
    help="Audit the certificates that entries name, where they are there.",
)
@click.option("--json", "as_json", is_flag=True, help="Print what was found as a document only.")
@QUIET
def verify_command(store: str, proofs: bool, as_json: bool, quiet: bool) -> int:
    """Play every layout of a store in the simulator again, compare what is listed with it, and
    audit the certificates that entries name, as 'gatefit audit' does. Every value is held against
    what its column may hold, every claim against its question and layout, and every answer
    against the boxes that are kept as having no layout. Answers that need more of these than are
    kept are listed; they are not wrong, but rest on the word of whoever made the store.

    Exit code 0: nothing is wrong; 1: something is.

    \b
    Examples:
      gatefit library verify
      gatefit library verify --store other.sqlite --no-proofs
      gatefit library verify --json --quiet
    """
    from synth.library import Store
    from synth.library.verify import verify

    live = not quiet and sys.stderr.isatty()

    def progress(line: str) -> None:
        click.echo(f"\r\x1b[K{line[:78]}", nl=False, err=True)

    with Store.for_reading(store) as opened:
        done = verify(opened, proofs=proofs, progress=progress if live else None)
    if live:
        click.echo("\r\x1b[K", nl=False, err=True)
    if as_json:
        click.echo(json_line(done.document()))
        return 0 if done.passes else 1
    for finding in done.wrong:
        click.echo(f"WRONG, {finding.where}: {finding.text}")
    for finding in done.absent:
        click.echo(f"{finding.where}: its certificate is not checked, {finding.text}")
    for finding in done.not_shown[:MOST_SHOWN]:
        click.echo(f"{finding.where}: not shown by what is kept, {finding.text}")
    if (more := len(done.not_shown) - MOST_SHOWN) > 0:
        click.echo(f"and {more} more that are not shown by what is kept; --json lists all")
    if done.outdated:
        click.echo(f"{done.outdated} entries are of another encoding: their claims serve no longer")
    click.echo(
        f"{store}: {counted(done.entries, 'entry')}, {counted(done.layouts, 'layout')} played, "
        f"{counted(done.audited, 'certificate')} audited, {counted(done.unproven, 'answer')} "
        "without a proof kept, "
        f"{len(done.not_shown)} not shown by what is kept: "
        f"{'nothing is wrong' if done.passes else f'{len(done.wrong)} things are WRONG'}"
    )
    return 0 if done.passes else 1
