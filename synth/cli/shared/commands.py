"""How commands list themselves: in the order of a builder's work, options in groups."""

from __future__ import annotations

import difflib
import os
import re
from typing import Any

import click

from synth.cli.shared.option import GROUPS
from synth.errors import InputError

WRITTEN_FILES = ("output", "plot", "plots", "posters")
"""The parameters that name files which are replaced."""

KEPT_FILES = (
    *("resume", "store", "rules", "circuit", "spec_source", "function", "spec"),
    *("first", "second", "like", "template", "file"),
)
"""Those that name files which must stay: what is read or gone on from."""

LAYOUT_FILE = "layout"
"""That of a layout: it may be replaced by the layout that comes of it, and by nothing else."""

WRITES_LAYOUTS = ("shrink", "prove", "repair", "row")
"""The commands that write one that comes of it."""


class Command(click.Command):
    """A command whose help shows its options in the groups of the table (``options``).

    It does not begin if it would write over a file that it reads or goes on from.
    """

    def __init__(self, *arguments: Any, **attributes: Any) -> None:
        super().__init__(*arguments, **attributes)
        self.groups: dict[str, str] = getattr(self.callback, "groups", {})

    def invoke(self, ctx: click.Context) -> Any:
        """Run it.

        Raises:
            InputError: if a file that is written is another of its files as well.
        """
        require_apart(ctx)
        return super().invoke(ctx)

    def grouped(self, ctx: click.Context) -> dict[str, list[click.Option]]:
        """The options that are shown, by their headings; those of no group last."""
        found: dict[str, list[click.Option]] = {}
        for heading in dict.fromkeys([*GROUPS, *self.groups.values(), ""]):
            options = [
                parameter
                for parameter in self.get_params(ctx)
                if isinstance(parameter, click.Option)
                and not parameter.hidden
                and self._group_of(parameter) == heading
            ]
            if options:
                found[heading or ("Other options" if found else "Options")] = options
        return found

    def _group_of(self, parameter: click.Parameter) -> str:
        return next((self.groups[name] for name in parameter.opts if name in self.groups), "")

    def format_options(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        """Write the options, group by group."""
        for heading, options in self.grouped(ctx).items():
            records = [record for option in options if (record := option.get_help_record(ctx))]
            with formatter.section(heading):
                formatter.write_dl([(names, in_words(text)) for names, text in records])


def require_apart(ctx: click.Context) -> None:
    """Refuse to write over a file that a command reads, goes on from or writes as well.

    Raises:
        InputError: naming the file and both places where it is named.
    """
    seen: dict[str, str] = {}
    layouts = () if ctx.command.name in WRITES_LAYOUTS else (LAYOUT_FILE,)
    for name in (*KEPT_FILES, *layouts, *WRITTEN_FILES):
        parameter = next((one for one in ctx.command.params if one.name == name), None)
        if parameter is None:
            continue
        given = ctx.params.get(name)
        said = parameter.opts[-1] if isinstance(parameter, click.Option) else name.upper()
        for path in given if isinstance(given, tuple) else (given,):
            if not isinstance(path, str) or not path:
                continue
            # What is read may be a text or the name of a target as well.
            if name not in WRITTEN_FILES and name != "resume" and not os.path.isfile(path):
                continue
            file = os.path.realpath(path)
            if name in WRITTEN_FILES and file in seen:
                other = seen[file].replace("SPEC_SOURCE", "the specification")
                raise InputError(
                    f"{path!r} would be written over, and it is named by {other} as well",
                    place=said,
                    way_out="name another file",
                )
            seen.setdefault(file, said)


def in_words(help_text: str) -> str:
    """A help text with its range in words, in one bracket: ``[1 to 64; default: 4]``."""
    said = re.sub(r"(\d+)<=x<=(\d+)", r"\1 to \2", help_text)
    said = re.sub(r"x>=(\d+)", r"\1 or more", said)
    said = said.replace("env var: ", "or the variable ")
    # What click adds comes first: a default may be several words.
    return re.sub(r"\[(default: [^]]*)\]  \[([^]]*)\]", r"[\2; \1]", said)


class Commands(click.Group):
    """A group that lists its commands in the order they were added, and guesses at typos."""

    command_class = Command

    def parse_args(self, ctx: click.Context, args: list[str]) -> list[str]:
        if not args and not self.invoke_without_command:
            # As if --help had been said: the commands are what is asked for.
            args = ["--help"]
        return super().parse_args(ctx, args)

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
