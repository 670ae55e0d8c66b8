"""``gatefit targets``: the specifications that come with the package."""

from __future__ import annotations

import click


@click.command("targets", short_help="List the specifications that come with gatefit.")
def targets_command() -> int:
    """List the specifications that come with gatefit, each by its name and in one line.

    A name stands wherever a specification is asked for.

    \b
    Examples:
      gatefit targets
      gatefit solve half-adder
      gatefit check mine.json --spec half-adder
    """
    from synth.spec.targets import describe, target_names
    from synth.views.text.layers import columns

    rows = [(name, describe(name)) for name in target_names()]
    click.echo("\n".join(columns(rows, indent="")))
    return 0
