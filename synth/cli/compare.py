"""``gatefit compare``: two layouts side by side."""

from __future__ import annotations

from pathlib import Path

import click

from synth.cli.shared.arguments import RULES, output_option
from synth.cli.shared.commands import Command
from synth.cli.shared.completing import files
from synth.cli.shared.files import (
    STANDARD_INPUT,
    OutputFile,
    json_line,
    read_layout,
    read_rules,
)
from synth.cli.shared.kinds import kind_for, require_readable
from synth.errors import InputError
from synth.layout.drawing import DRAWING_ENDING

KINDS = {"text": "plain text", "html": "HTML", "svg": "SVG", "json": "JSON"}
"""What the file of a kind holds."""

LAYOUTS = files(".json", DRAWING_ENDING)


@click.command("compare", cls=Command, short_help="Say in what two layouts differ.")
@click.argument("first", metavar="A", type=click.Path(), shell_complete=LAYOUTS)
@click.argument("second", metavar="B", type=click.Path(), shell_complete=LAYOUTS)
@output_option(
    "Write to this file; its ending says what.  [default: standard output]",
    *(".txt", ".html", ".svg", ".json"),
)
@click.option(
    "--as",
    "kind",
    type=click.Choice(tuple(KINDS)),
    help="What to write: text, a page, a sheet, or a document.  [default: by the ending of FILE, "
    "else text]",
)
@click.option("--json", "as_json", is_flag=True, help="Print the comparison as a JSON document.")
@RULES
def compare_command(
    first: str,
    second: str,
    output: str | None,
    kind: str | None,
    as_json: bool,
    rules: str | None,
) -> int:
    """Compare the layouts in the files A and B (one of them may be '-': standard input).

    You learn whether they compute the same function, by the names of their pins, which one is
    faster and smaller, and in which cells and pins they differ: what is in A only, in B only, or
    another part. The layouts are laid upon each other so that most parts agree; neither is turned.

    \b
    Examples:
      gatefit compare xor.drawing smaller.json
      gatefit compare before.json after.json -o difference.html
      gatefit compare before.json after.json --json

    \b
    Exit codes:
      0  both compute the same function     2  the input cannot be used
      1  they do not, or it cannot be said
    """
    from synth.reviewing.comparing import compare

    if first == second == STANDARD_INPUT:
        raise InputError("standard input is one layout", place="B", way_out="name a file")
    kind = "json" if as_json else kind_for(output, kind, KINDS, "text")
    target = None if output is None else OutputFile(output, KINDS[kind])
    if target is None:
        require_readable(KINDS[kind], "difference.html")
    layouts = read_layout(first), read_layout(second)
    found = compare(*layouts, rules=read_rules(rules))
    names = _name(first), _name(second)
    if kind == "json":
        text = json_line(found.document()) + "\n"
    elif kind == "text":
        from synth.views.text.comparison import comparison_text

        text = comparison_text(found, names) + "\n"
    else:
        from synth.views.comparison import comparison_html, comparison_svg

        text = comparison_html(found, names) if kind == "html" else comparison_svg(found, names)
    if target is None:
        click.echo(text, nl=False)
    else:
        target.write(text)
        click.echo(f"{target.path}: written")
    return 0 if found.same_function else 1


def _name(file: str) -> str:
    return "standard input" if file == STANDARD_INPUT else Path(file).name
