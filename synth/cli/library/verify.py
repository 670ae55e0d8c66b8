"""``gatefit library verify``: a store played again from end to end."""

from __future__ import annotations

import sys

import click

from synth.cli.shared.arguments import STORE
from synth.cli.shared.commands import Command
from synth.cli.shared.files import json_line
from synth.cli.shared.live_line import LiveLine
from synth.cli.shared.searching import QUIET
from synth.words import counted

MOST_SHOWN = 10
"""Answers listed that are not shown by what is kept."""


@click.command("verify", cls=Command, short_help="Check a store from beginning to end.")
@STORE
@click.option(
    "--proofs/--no-proofs",
    default=True,
    help="Also audit the certificates that entries name, if they are there.  [default: --proofs]",
)
@click.option("--json", "as_json", is_flag=True, help="Print only the report as a JSON document.")
@QUIET
def verify_command(store: str, proofs: bool, as_json: bool, quiet: bool) -> int:
    """Check a store from beginning to end.

    Every layout is played in the simulator again and compared with what is listed of it, those
    beyond the limits of their questions as well. Every
    certificate is audited, as 'gatefit audit' does it. Every claim is compared with its question,
    its layout, and the boxes that are kept as having no layout. If too few of these boxes are
    kept for an answer, it is listed: it is not wrong, but you have to trust whoever made the store.

    \b
    Examples:
      gatefit library verify
      gatefit library verify --store other.sqlite --no-proofs
      gatefit library verify --json --quiet

    \b
    Exit codes:
      0  nothing is wrong     2  the input cannot be used
      1  something is wrong
    """
    from synth.library import Store
    from synth.library.verify import verify

    line = LiveLine(sys.stderr)
    shows = line.live and not quiet
    with Store.for_reading(store) as opened:
        done = verify(opened, proofs=proofs, progress=line.show if shows else None)
    line.clear()
    if as_json:
        click.echo(json_line(done.document()))
        return 0 if done.passes else 1
    for finding in done.wrong:
        click.echo(f"WRONG, {finding.where}: {finding.text}")
    for finding in done.absent:
        click.echo(f"{finding.where}: its certificate was not checked: {finding.text}")
    for finding in done.not_shown[:MOST_SHOWN]:
        click.echo(f"{finding.where}: too little is kept to check its answer: {finding.text}")
    if (more := len(done.not_shown) - MOST_SHOWN) > 0:
        click.echo(f"and {more} more answers that cannot be checked; --json lists them all")
    if done.outdated:
        click.echo(
            f"{done.outdated} entries are of another version of the search and no longer count"
        )
    click.echo(
        f"{store}: {counted(done.entries, 'entry')}, {counted(done.layouts, 'layout')} played"
        f"{f' ({done.beyond} beyond the limits)' if done.beyond else ''}, "
        f"{counted(done.audited, 'certificate')} audited, {counted(done.unproven, 'answer')} "
        "without a proof, "
        f"{len(done.not_shown)} that cannot be checked: "
        f"{'nothing is wrong' if done.passes else f'{len(done.wrong)} things are WRONG'}"
    )
    return 0 if done.passes else 1
