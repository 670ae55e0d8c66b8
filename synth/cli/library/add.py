"""``gatefit library add``: a layout that somebody has, put into a store."""

from __future__ import annotations

import click

from synth.cli.shared.arguments import LAYOUT, RULES, STORE, at_option
from synth.cli.shared.commands import Command
from synth.cli.shared.completing import complete_spec
from synth.cli.shared.files import read_layout, read_rules


@click.command("add", cls=Command, short_help="Put a layout of your own into a store.")
@LAYOUT
@STORE
@click.option(
    "--function",
    metavar="SPEC",
    shell_complete=complete_spec,
    help="What it computes, given as for 'gatefit solve': text such as \"q = a ^ b\", a TOML file, "
    "or the name of a target.  [default: what the simulator sees]",
)
@click.option(
    "--name", default="", metavar="TEXT", help="A name for the function.  [default: the layout's]"
)
@click.option("--note", default="", metavar="TEXT", help="A line of your own to keep with it.")
@click.option(
    "--tag",
    "tags",
    multiple=True,
    metavar="WORD",
    help="A word to find it by, with 'library list --tag'. Repeat it for more.",
)
@RULES
def add_command(
    layout: str,
    store: str,
    function: str | None,
    name: str,
    note: str,
    tags: tuple[str, ...],
    rules: str | None,
) -> int:
    """Put the layout in the file LAYOUT ('-': standard input) into the store.

    The simulator judges it first. It is kept as the best layout known for its function in a box
    of its size, within its delay, with its stacking and joints. If the store already has a better
    one, this one is not kept. The note and the tags are kept in both cases.

    \b
    Examples:
      gatefit library add xor.json
      gatefit library add xor.json --note "from the workshop" --tag mine
      gatefit library add mux.json --function "q = s ? a : b" --name multiplexer
    """
    from synth import fields
    from synth.errors import InputError
    from synth.library import Store
    from synth.library.adding import add, question_of
    from synth.library.remarks import read_tag
    from synth.library.words import expressions
    from synth.spec.sources import resolve_spec

    fields.line(note, "--note")
    fields.line(name, "--name")
    for tag in tags:
        read_tag(tag)
    given, table = read_layout(layout), read_rules(rules)
    with at_option("--function"):
        asked = None if function is None else resolve_spec(function).function
    file = "standard input" if layout == "-" else layout
    try:
        # Before the store is opened: one that does not pass leaves no empty store behind.
        question_of(given, asked, table)
        with Store(store) as opened:
            done = add(opened, given, asked, name=name, note=note, tags=tags, rules=table)
    except InputError as error:
        raise error if error.file else error.in_file(file) from None
    said = "added" if done.improved else "not added, the store has one that is as good or better"
    click.echo(
        f"{store}: entry {done.number}, {'; '.join(expressions(done.spec.function))}, "
        f"delay {done.verdict.delay}: {said}"
    )
    return 0
