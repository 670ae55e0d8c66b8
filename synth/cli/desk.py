"""``gatefit desk``: a page to draw and change a layout on, played and judged while you do."""

from __future__ import annotations

import sys
from pathlib import Path

import click

from synth.cli.shared.arguments import RULES
from synth.cli.shared.commands import Command
from synth.cli.shared.completing import files
from synth.cli.shared.ending import say
from synth.cli.shared.files import read_rules
from synth.layout.drawing import DRAWING_ENDING


@click.command("desk", cls=Command, short_help="Draw and change a layout on a page.")
@click.argument(
    "file",
    metavar="[FILE]",
    required=False,
    type=click.Path(),
    shell_complete=files(".json", DRAWING_ENDING, ".toml"),
)
@click.option(
    "--port",
    type=click.IntRange(0, 65535),
    default=0,
    metavar="NUMBER",
    help="The port of this machine's own address.  [default: a free one]",
)
@click.option("--no-browser", is_flag=True, help="Print the address, and open no browser.")
@click.option(
    "--store",
    metavar="FILE",
    type=click.Path(dir_okay=False),
    shell_complete=files(".sqlite"),
    help="A store of answers, whose gates can be opened.",
)
@RULES
def desk_command(
    file: str | None, port: int, no_browser: bool, store: str | None, rules: str | None
) -> int:
    """Open the desk: a page on which a layout is drawn, changed, played and judged.

    FILE is a layout (a document or a drawing), or a specification to be filled in. Without it the
    desk begins with an empty box, or goes on where it was. The page is served to this machine
    alone, at an address that nobody can guess, and reads and writes only in the folder of FILE,
    or in the one that the command is started in. Every step is kept at once in '.gatefit-desk'
    there: a page that is closed and a desk that is ended lose nothing. Ctrl-c ends it.

    \b
    Examples:
      gatefit desk
      gatefit desk xor.json
      gatefit desk my_gate.toml --no-browser --port 8000
      gatefit desk --store gates.sqlite
    """
    from synth.desk.desk import Desk
    from synth.desk.serving import serve

    given = None if file is None else Path(file)
    root = Path.cwd() if given is None else given.absolute().parent
    desk = Desk(root, given, store=None if store is None else Path(store), rules=read_rules(rules))

    def told(address: str) -> None:
        click.echo(address)
        sys.stdout.flush()
        say("gatefit: the desk is open; ctrl-c ends it, and everything is kept")
        if not no_browser:
            click.launch(address)

    try:
        serve(desk, port, told)
    finally:
        desk.close()
    say("gatefit: the desk is closed; everything is kept")
    return 0
