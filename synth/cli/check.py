"""``gatefit check``: the simulator's verdict on a layout."""

from __future__ import annotations

import click

from synth.cli.shared.arguments import LAYOUT, RULES, complete_spec
from synth.cli.shared.files import json_line, read_layout, read_rules
from synth.errors import InputError
from synth.spec import Spec


@click.command("check", short_help="Judge a layout in the simulator.")
@LAYOUT
@click.option("--function", metavar="TEXT", help='The function asked, such as "q = a ^ b".')
@click.option(
    "--spec",
    "spec_source",
    metavar="SPEC",
    shell_complete=complete_spec,
    help="What is asked: a TOML file, the name of a target, or text.",
)
@click.option("--delay", type=click.IntRange(0), metavar="TICKS", help="The delay it has to meet.")
@RULES
@click.option("--json", "as_json", is_flag=True, help="Print the verdict document only.")
def check_command(
    layout: str,
    function: str | None,
    spec_source: str | None,
    delay: int | None,
    rules: str | None,
    as_json: bool,
) -> int:
    """Let the simulator judge the layout in the file LAYOUT ('-': standard input).

    It says whether the layout is legal in the medium, what it computes and how fast, whether it
    stacks, and every fault with its rule and cell. With a function or specification to check
    against, the layout has to compute that. With none it has to be what it was made for, if its
    file says so: gatefit writes there the function and the delay asked for. Else you learn which
    function it computes.

    Exit code 0: it passes; 1: it does not; 2: the input cannot be used.

    \b
    Examples:
      gatefit check xor.json
      gatefit check xor.json --function "q = a ^ b" --delay 2
      gatefit check xor.json --spec xor2 --json
      gatefit solve "q = a & b" --json | gatefit check -
    """
    from synth.cli.shared.outcome_text import asked_columns
    from synth.simulator import check
    from synth.simulator.asks import asked_stack
    from synth.simulator.made_for import spec_made_for
    from synth.views.text.layers import measures_text
    from synth.views.text.verdict import verdict_text

    given = read_layout(layout)
    asked = _asked(function, spec_source)
    spec = spec_made_for(given) if asked is None else asked
    verdict = check(given, spec, delay=delay, rules=read_rules(rules))
    if as_json:
        click.echo(json_line(verdict.document()))
    else:
        click.echo(measures_text(given))
        click.echo()
        click.echo(
            verdict_text(
                verdict,
                given,
                asked=None if spec is None else asked_columns(spec, given),
                stack=given.stack or (None if spec is None else asked_stack(given, spec)),
                made_for=given.made_for if asked is None else None,
            )
        )
    return 0 if verdict.passes else 1


def _asked(function: str | None, spec_source: str | None) -> Spec | None:
    if function is not None and spec_source is not None:
        raise InputError(
            "a function and a specification are both given",
            place="--function and --spec",
            way_out="give one of them",
        )
    if function is not None:
        return Spec.parse(function)
    if spec_source is not None:
        from synth.spec.sources import resolve_spec

        return resolve_spec(spec_source)
    return None
