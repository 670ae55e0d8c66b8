"""``gatefit library show``: one entry of a store."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from synth.cli.shared.arguments import STORE
from synth.cli.shared.commands import Command
from synth.cli.shared.files import json_line
from synth.layout.pins import show_size
from synth.words import counted, filled, listed

if TYPE_CHECKING:
    from synth.library.entry import BeyondSize, Entry
    from synth.spec import Spec

FORMAT = "gatefit-library-entry"
VERSION = 1


@click.command("show", cls=Command, short_help="Show one entry of a store.")
@click.argument("number", type=click.IntRange(1), metavar="NUMBER")
@STORE
@click.option("--json", "as_json", is_flag=True, help="Print only the entry as a JSON document.")
def show_entry_command(number: int, store: str, as_json: bool) -> int:
    """Show the entry NUMBER of a store: what was asked, the answer, and the layout.

    Where no layout within the limits is known, the best one beyond them is shown, if there is one.

    The simulator judges the layout again. One that does not pass is not shown.

    \b
    Examples:
      gatefit library show 12
      gatefit library show 12 --json
    """
    from synth.library import Store
    from synth.questions.room import let_go

    with Store.for_reading(store) as opened:
        entry, asked, claim = opened.entry(number), opened.asked(number), opened.claim(number)
        layout = None if entry.volume is None else opened.layout(number)
        beyond = None if entry.beyond is None else opened.layout_beyond(number)
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
                    "beyond": None if beyond is None else beyond.document(),
                    "let_go": list(let_go(asked.spec)),
                }
            )
        )
        return 0
    sections = [asked.toml.rstrip()]
    shown = layout or beyond
    if shown is not None:
        from synth.views.text.layers import layout_text

        sections.append(layout_text(shown))
    lines = entry_text(entry, claim, note, tags)
    if entry.beyond is not None:
        lines.insert(1, filled(beyond_text(asked.spec, entry.beyond), "  "))
    sections.append("\n".join(lines))
    click.echo("\n\n".join(sections))
    return 0


def beyond_text(spec: Spec, beyond: BeyondSize) -> str:
    """What the layout shown is, where it lies beyond the limits asked."""
    from synth.questions.room import let_go

    limits = listed([f"{name} {getattr(spec.limits, name)}" for name in let_go(spec)])
    return (
        f"Beyond the limits: no layout is known within {limits}. The one shown does all else that "
        f"was asked, in {show_size(beyond.size)}: {counted(beyond.volume, 'cell')}, "
        f"{counted(beyond.delay, 'tick')}. It is no answer; a smaller one may exist."
    )


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
