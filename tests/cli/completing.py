"""What a shell is offered."""

from __future__ import annotations

from click.shell_completion import ShellComplete

from synth.cli.main import cli


def completions(words: list[str], incomplete: str) -> set[str]:
    """The ways to complete the last word of a command."""
    shell = ShellComplete(cli, {}, "gatefit", "_GATEFIT_COMPLETE")
    return {item.value for item in shell.get_completions(words, incomplete)}
