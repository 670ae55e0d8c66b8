"""``gatefit library show``: one entry of a store."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from synth.cli.shared.arguments import STORE
from synth.cli.shared.commands import Command
from synth.cli.shared.files import json_line
from synth.words import filled

if TYPE_CHECKING:
    from synth.library.entry import Entry

FORMAT = "gatefit-library-entry"
VERSION = 1


@click.command("show", cls=Command, short_help="Show one entry of a store.")
@click.argument("number", type=click.IntRange(1), metavar="NUMBER")
@STORE
@click.option("--json", "as_json", is_flag=True, help="Print only the entry as a JSON document.")
def show_entry_command(number: int, store: str, as_json: bool) -> int:
    """Show the entry NUMBER of a store: what was asked, the answer, and the layout.

    The simulator judges the layout again. One that does not pass is not shown.

    \b
    Examples:
      gatefit library show 12
      gatefit library show 12 --json
    """
    from synth.library import Store

    with Store.for_reading(store) as opened:
        entry, asked, claim = opened.entry(number), opened.asked(number), opened.claim(number)
        layout = None if entry.volume is None else opened.layout(number)
        note, tags = opened.note(number), opened.tags(number)
    if as_json:
        click.echo(
            json_line(
                {
                    "format": FORMAT,
                    "version": VERSION,
                    "entry": entry.document(),
                    "asked": asked.document(),
                    "claim": claim,
                    "note": note,
                    "tags": list(tags),
                    "layout": None if layout is None else layout.document(),
                }
            )
        )
        return 0
    sections = [asked.toml.rstrip()]
    if layout is not None:
        from synth.views.text.layers import layout_text

        sections.append(layout_text(layout))
    sections.append("\n".join(entry_text(entry, claim, note, tags)))
    click.echo("\n\n".join(sections))
    return 0


def entry_text(entry: Entry, claim: str, note: str = "", tags: tuple[str, ...] = ()) -> list[str]:
    """The answer of an entry in words, with all it rests on."""
    label = "Claim:" if entry.proven else "Reason:"
    head = f"Entry {entry.number}, {entry.name}" if entry.name else f"Entry {entry.number}"
    lines = [f"{head}: {entry.status}.", f"{label} {claim}"]
    if entry.proof:
        lines.append(f"Proof: {entry.proof}")
    if entry.bound is not None:
        lines.append(f"Bound: no layout of {entry.minimize[0]} below {entry.bound}")
    if entry.solver:
        lines.append(
            f"Made: {entry.made} by gatefit {entry.version}, {entry.solver}, seed {entry.seed}, "
            f"{entry.seconds:.1f} s"
        )
    else:
        lines.append(f"Added: {entry.made} with gatefit {entry.version}")
    if tags:
        lines.append(f"Tags: {', '.join(tags)}")
    if note:
        lines.append(f"Note: {note}")
    return [filled(line, "  ") for line in lines]
