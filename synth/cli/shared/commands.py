"""A group of commands: in the order of a builder's work, with a guess at typos."""

from __future__ import annotations

import difflib

import click


class Commands(click.Group):
    """A group that lists its commands in the order they were added, and guesses at typos."""

    def list_commands(self, ctx: click.Context) -> list[str]:
        return list(self.commands)

    def resolve_command(
        self, ctx: click.Context, args: list[str]
    ) -> tuple[str | None, click.Command | None, list[str]]:
        if self.get_command(ctx, args[0]) is None and not args[0].startswith("-"):
            near = difflib.get_close_matches(args[0], self.commands, 1)
            guess = (
                f"did you mean {near[0]!r}?" if near else f"there are {', '.join(self.commands)}"
            )
            raise click.UsageError(f"no command {args[0]!r}; {guess}", ctx)
        return super().resolve_command(ctx, args)
