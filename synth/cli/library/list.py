"""``gatefit library list``: what a store holds, by properties."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from typing import TYPE_CHECKING, Any

import click

from synth.cli.library.table import entry_lines
from synth.cli.shared.arguments import STORE
from synth.cli.shared.commands import Command
from synth.cli.shared.files import json_line
from synth.errors import InputError

if TYPE_CHECKING:
    from synth.library import Store
    from synth.library.entry import Entry

FORMAT = "gatefit-library-list"
VERSION = 1

Callback = Callable[..., Any]


def filters(command: Callback) -> Callback:
    """The options that say which entries, shared by the commands that take many."""
    others = {name for parameter in _options_of(command) for name in parameter.opts}
    for option in reversed(_FILTERS):
        command = option(command)
    own = (name for parameter in _options_of(command) for name in parameter.opts)
    command.__dict__["groups"] = {name: "Which entries" for name in own if name not in others}
    return command


def _options_of(command: Callback) -> list[click.Parameter]:
    """What decorators have noted so far for ``click.command``."""
    return list(getattr(command, "__click_params__", ()))


def _bound(name: str, unit: str, text: str) -> Callable[[Callback], Callback]:
    return click.option(f"--{name}", type=click.IntRange(0), metavar=unit, help=text)


def _renamed(ctx: click.Context, parameter: click.Parameter, value: str | None) -> None:
    """``--inputs`` gives inputs their values; how many there are is ``--arity``."""
    if value is not None:
        raise InputError(
            "this option gives inputs their values, in 'gatefit show' and 'gatefit explain'",
            place="--inputs",
            way_out="use --arity for the number of inputs",
        )


_FILTERS = (
    click.option(
        "--arity",
        "inputs",
        type=click.IntRange(0),
        metavar="N",
        help="Only functions with N inputs.",
    ),
    click.option(
        "--inputs",
        "older_name",
        metavar="N",
        hidden=True,
        expose_value=False,
        callback=_renamed,
        help="An older name of --arity.",
    ),
    click.option(
        "--outputs", type=click.IntRange(1), metavar="N", help="Only functions with N outputs."
    ),
    click.option(
        "--tag", metavar="WORD", help="Only entries with this tag (see 'library add --tag')."
    ),
    click.option(
        "--text", metavar="TEXT", help="Only entries with TEXT in their name or expression."
    ),
    click.option(
        "--stack",
        type=click.Choice(["x", "y", "z", "none"]),
        help="Only entries where this stacking was asked.",
    ),
    click.option(
        "--joint",
        "joints",
        type=click.Choice(["wire", "buffer", "mixed"]),
        help="Only entries where these joints were asked.",
    ),
    click.option(
        "--status",
        type=click.Choice(["found", "impossible", "undecided"]),
        help="Only entries whose search ended so.",
    ),
    click.option(
        "--proven/--unproven",
        default=None,
        help="Only final answers (smallest, or impossible); or only the others.",
    ),
    click.option(
        "--delay-asked",
        type=click.IntRange(0),
        metavar="TICKS",
        help="Only entries where exactly this delay was asked.",
    ),
    _bound("delay", "TICKS", "Only layouts that meet this delay."),
    _bound("volume", "CELLS", "Only layouts of at most this many cells."),
    _bound("floor", "CELLS", "Only layouts with at most this many cells on the floor."),
    _bound("length", "CELLS", "Only layouts of at most this length."),
    _bound("width", "CELLS", "Only layouts of at most this width."),
    _bound("height", "CELLS", "Only layouts of at most this height."),
    _bound("parts", "CELLS", "Only layouts of at most this many parts."),
)


def query_of(options: dict[str, Any]) -> Any:
    """The query that the options of ``filters`` make."""
    from synth.library.entry import Query

    values = {name: value for name, value in options.items() if value is not None}
    if values.get("stack") == "none":
        values["stack"] = ""
    return Query(**values)


@click.command("list", cls=Command, short_help="List what a store holds.")
@STORE
@filters
@click.option("--json", "as_json", is_flag=True, help="Print only the list as a JSON document.")
def list_command(store: str, as_json: bool, **options: Any) -> int:
    """List the entries of a store, one a line. With several options, an entry has to match all.

    The column 'asked' gives the limits of the question, the column 'layout' the size of the
    answer: '5x2x5 in 4' is a length of 5, a width of 2 and a height of 5 cells, and a delay of 4
    ticks. '>= 24' means that no layout has a volume below 24.

    'beyond the limits' below an entry is a layout that does what was asked in a larger box, where
    none is known within the limits. It is no answer: --delay, --volume and the like list only
    entries that have a layout within their limits.

    \b
    Examples:
      gatefit library list
      gatefit library list --arity 2 --stack y --delay 2
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
