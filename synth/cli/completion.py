"""``gatefit completion``: the script that teaches a shell to complete this command."""

from __future__ import annotations

import click
from click.shell_completion import get_completion_class

from synth.cli.shared.commands import Command

SHELLS = ("bash", "zsh", "fish")
VARIABLE = "_GATEFIT_COMPLETE"


@click.command("completion", cls=Command, short_help="Print the completion script for a shell.")
@click.argument("shell", type=click.Choice(SHELLS))
@click.pass_context
def completion_command(ctx: click.Context, shell: str) -> int:
    """Print the script with which SHELL (bash, zsh or fish) completes gatefit.

    It completes commands, options, and what an option may be: targets, measures, solvers, files.

    \b
    Examples:
      eval "$(gatefit completion bash)"
      gatefit completion zsh >> ~/.zshrc
      gatefit completion fish > ~/.config/fish/completions/gatefit.fish
    """
    kind = get_completion_class(shell)
    assert kind is not None, "click knows the three shells"
    root = ctx.find_root()
    click.echo(kind(root.command, {}, "gatefit", VARIABLE).source())
    return 0
