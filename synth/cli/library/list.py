"""``gatefit library list``: what a store holds, by properties."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from typing import TYPE_CHECKING, Any

import click

from synth.cli.library.table import entry_lines
from synth.cli.shared.arguments import STORE
from synth.cli.shared.files import json_line

if TYPE_CHECKING:
    from synth.library import Store
    from synth.library.entry import Entry

FORMAT = "gatefit-library-list"
VERSION = 1

Command = Callable[..., Any]


def filters(command: Command) -> Command:
    """The options that say which entries, shared by the commands that take many."""
    for option in reversed(_FILTERS):
        command = option(command)
    return command


def _bound(name: str, unit: str, text: str) -> Callable[[Command], Command]:
    return click.option(f"--{name}", type=click.IntRange(0), metavar=unit, help=text)


_FILTERS = (
    click.option("--inputs", type=click.IntRange(0), metavar="N", help="Functions of N inputs."),
    click.option("--outputs", type=click.IntRange(1), metavar="N", help="Functions of N outputs."),
    click.option("--tag", metavar="WORD", help="Entries with this tag ('library add --tag')."),
    click.option("--text", metavar="TEXT", help="TEXT is in the name or the expression."),
    click.option(
        "--stack",
        type=click.Choice(["x", "y", "z", "none"]),
        help="The stacking that was asked.",
    ),
    click.option(
        "--joint",
        "joints",
        type=click.Choice(["wire", "buffer", "mixed"]),
        help="The joints that were asked.",
    ),
    click.option(
        "--status",
        type=click.Choice(["found", "impossible", "undecided"]),
        help="What came of the search.",
    ),
    click.option(
        "--proven/--unproven",
        default=None,
        help="Answers for good (smallest, or impossible); or those that are not.",
    ),
    click.option(
        "--delay-asked",
        type=click.IntRange(0),
        metavar="TICKS",
        help="The delay that was asked, exactly.",
    ),
    _bound("delay", "TICKS", "Layouts that meet this delay."),
    _bound("volume", "CELLS", "Layouts of at most so many cells."),
    _bound("floor", "CELLS", "Layouts of at most so large a floor."),
    _bound("length", "CELLS", "Layouts of at most this length."),
    _bound("width", "CELLS", "Layouts of at most this width."),
    _bound("height", "CELLS", "Layouts of at most this height."),
    _bound("parts", "CELLS", "Layouts of at most so many parts."),
)


def query_of(options: dict[str, Any]) -> Any:
    """The query that the options of ``filters`` make."""
    from synth.library.entry import Query

    values = {name: value for name, value in options.items() if value is not None}
    if values.get("stack") == "none":
        values["stack"] = ""
    return Query(**values)


@click.command("list", short_help="List what a store holds.")
@STORE
@filters
@click.option("--json", "as_json", is_flag=True, help="Print the list as a document only.")
def list_command(store: str, as_json: bool, **options: Any) -> int:
    """List the entries of a store, a line each; options say which, and all of them must hold.

    The columns 'asked' and 'layout' give box and delay: 5x2x5 in 4 is a length of 5, a width of 2
    and a height of 5 cells within 4 ticks, as limits and as what the layout has. '>= 24' says that
    no volume below 24 will do.

    Bounds (--delay, --volume, ...) are about layouts: entries without one do not meet them.

    \b
    Examples:
      gatefit library list
      gatefit library list --inputs 2 --stack y --delay 2
      gatefit library list --text mux --proven
      gatefit library list --tag mine
      gatefit library list --status undecided --json
      gatefit library list --store other.sqlite --volume 12
    """
    from synth.library import Store

    with Store.for_reading(store) as opened:
        entries = list(opened.entries(query_of(options)))
        if as_json:
            click.echo(json_line(list_document(opened, entries)))
            return 0
        lines = entry_lines(opened, entries)
        total = opened.count()
    click.echo("\n".join([*lines, f"{len(entries)} of {total} entries"]))
    return 0


def list_document(store: Store, entries: Iterable[Entry]) -> dict[str, Any]:
    """Entries as one document."""
    remarks = store.remarks()
    listed = []
    for entry in entries:
        note, tags = remarks.get(entry.number, ("", ()))
        listed.append(entry.document() | {"note": note, "tags": list(tags)})
    return {"format": FORMAT, "version": VERSION, "entries": listed}
