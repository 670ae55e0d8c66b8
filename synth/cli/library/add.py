"""``gatefit library add``: a layout that somebody has, put into a store."""

from __future__ import annotations

import click

from synth.cli.shared.arguments import LAYOUT, RULES, STORE, at_option
from synth.cli.shared.files import read_layout, read_rules


@click.command("add", short_help="Put a layout of your own into a store.")
@LAYOUT
@STORE
@click.option(
    "--function", metavar="TEXT", help='What it computes, as "q = a ^ b".  [default: what is seen]'
)
@click.option(
    "--name", default="", metavar="TEXT", help="A name for the function.  [default: the layout's]"
)
@click.option("--note", default="", metavar="TEXT", help="A line to keep beside it.")
@click.option(
    "--tag",
    "tags",
    multiple=True,
    metavar="WORD",
    help="A word to find it by, with 'list --tag'; as many as you like.",
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

    The simulator judges it first. It is kept as the best known layout for the question that it
    answers: its function, in its own box, within its own delay, with its stacking and joints. If
    the store has a better one for that, this one is not kept; note and tags are kept either way.

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
    from synth.spec import Spec

    fields.line(note, "--note")
    fields.line(name, "--name")
    for tag in tags:
        read_tag(tag)
    given, table = read_layout(layout), read_rules(rules)
    with at_option("--function"):
        asked = None if function is None else Spec.parse(function).function
    file = "standard input" if layout == "-" else layout
    try:
        # Before the store is opened: one that does not pass leaves no empty store behind.
        question_of(given, asked, table)
        with Store(store) as opened:
            done = add(opened, given, asked, name=name, note=note, tags=tags, rules=table)
    except InputError as error:
        raise error if error.file else error.in_file(file) from None
    said = "added" if done.improved else "as good a layout, or a better one, was there"
    click.echo(
        f"{store}: entry {done.number}, {'; '.join(expressions(done.spec.function))}, "
        f"delay {done.verdict.delay}: {said}"
    )
    return 0
