"""``gatefit targets``: the specifications that come with the package."""

from __future__ import annotations

import click


@click.command("targets", short_help="List the specifications that come with gatefit.")
def targets_command() -> int:
    """List the specifications that come with gatefit: name, function, and what each one fixes.

    A name stands wherever a specification is asked for. What a target fixes holds unless an option
    says otherwise; what it leaves open is assumed by the search, which then says so.

    \b
    Examples:
      gatefit targets
      gatefit solve half-adder
      gatefit check mine.json --spec half-adder
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
