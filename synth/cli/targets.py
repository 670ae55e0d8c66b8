"""``gatefit targets``: the specifications that come with the package."""

from __future__ import annotations

import click

from synth.cli.shared.commands import Command


@click.command("targets", cls=Command, short_help="List the specifications that come with gatefit.")
def targets_command() -> int:
    """List the targets, which are specifications that come with gatefit.

    Each has a name, a function, and the limits that it fixes. Give the name wherever a command
    takes a specification. Options change what the target fixes. What neither of them says is
    assumed by the search, which tells you what it assumed.

    \b
    Examples:
      gatefit targets
      gatefit solve half-adder
      gatefit check mine.json --function half-adder
    """
    from synth.questions.in_force import stated
    from synth.spec.targets import load_target, target_names
    from synth.views.text.layers import columns

    rows = []
    for name in target_names():
        spec = load_target(name)
        rows.append((name, spec.description))
        rows.append(("", f"  fixes: {', '.join(stated(spec)) or 'nothing besides the function'}"))
    click.echo("\n".join(columns(rows, indent="")))
    return 0
