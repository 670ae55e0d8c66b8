"""The page of all commands, made from the commands themselves: ``python -m synth.cli.pages``.

``docs/commands.md`` holds what this prints; a test compares the two.
"""

from __future__ import annotations

import inspect
import re
from collections.abc import Iterator

import click

from synth.cli.main import cli
from synth.cli.shared.commands import OTHERS, in_words

INTRODUCTION = """\
# Commands

Every command of `gatefit`, with its options, examples and exit codes, as `gatefit COMMAND --help`
prints them. This page is made from the commands by `python -m synth.cli.pages`; do not edit it.

If a command cannot use its input, it says so in one line, which names the place and a way out, and
ends with exit code 2. Ctrl-C ends it with 130, the signal TERM with 143. Exit codes 70, 71, 74 and
141 mean that something other than the input went wrong; `gatefit --help` lists them.
"""

PLAIN_CODES = "0  done\n2  the input cannot be used"
"""Exit codes of commands that say nothing of their own."""


def page() -> str:
    """The whole page, in Markdown."""
    root = click.Context(cli, info_name="gatefit")
    contexts = list(_commands(root))
    lines = [INTRODUCTION, "| command | what it does |", "| --- | --- |"]
    for ctx in contexts:
        anchor = re.sub(r"[^a-z]+", "-", ctx.command_path)
        purpose = ctx.command.get_short_help_str(200)
        lines.append(f"| [`{ctx.command_path}`](#{anchor}) | {_cell(purpose)} |")
    return "\n".join([*lines, *(line for ctx in contexts for line in _section(ctx))]) + "\n"


def _commands(parent: click.Context) -> Iterator[click.Context]:
    """Every command in the order of its group; a group that does nothing itself is left out."""
    group = parent.command
    assert isinstance(group, click.Group)
    for name in group.list_commands(parent):
        command = group.commands[name]
        ctx = click.Context(command, info_name=name, parent=parent)
        if isinstance(command, click.Group):
            yield from _commands(ctx)
        else:
            yield ctx


def _section(ctx: click.Context) -> Iterator[str]:
    command = ctx.command
    yield f"\n## {ctx.command_path}\n"
    paragraphs, blocks = _taken_apart(command.help or "")
    yield "\n\n".join(paragraphs)
    usage = " ".join(command.collect_usage_pieces(ctx))
    yield f"\nUsage: `{ctx.command_path} {usage}`"
    yield from _options(ctx)
    codes = blocks.pop("Exit codes", PLAIN_CODES)
    examples = blocks.pop("Examples", "")
    for heading, text in [*blocks.items(), ("Examples", examples), ("Exit codes", codes)]:
        yield f"\n{heading}:\n\n```text\n{text}\n```"


def _taken_apart(help_text: str) -> tuple[list[str], dict[str, str]]:
    """The paragraphs of a help text, and its blocks by their headings."""
    paragraphs: list[str] = []
    blocks: dict[str, str] = {}
    for piece in inspect.cleandoc(help_text).split("\n\n"):
        if not piece.startswith("\b\n"):
            paragraphs.append(_escaped(piece))
            continue
        heading, _, rest = piece.removeprefix("\b\n").partition("\n")
        if heading.endswith(":"):
            blocks[heading.removesuffix(":")] = inspect.cleandoc(rest)
        else:
            paragraphs.append(f"```text\n{inspect.cleandoc(piece.removeprefix(chr(8)))}\n```")
    return paragraphs, blocks


def _options(ctx: click.Context) -> Iterator[str]:
    """A table for each group of options."""
    groups: dict[str, list[str]] = {}
    for parameter in ctx.command.params:
        record = parameter.get_help_record(ctx)
        if not isinstance(parameter, click.Option) or record is None:
            continue
        names, meaning = record[0], in_words(record[1])
        default = ""
        found = re.fullmatch(r"(.*?)\s*\[([^]]*)\]", meaning, re.DOTALL)
        if found:
            meaning, said = found.groups()
            before, _, default = said.rpartition("default: ")
            # Without a default, all of it is of the values.
            before = (before or ("" if default != said else said)).rstrip("; ")
            default = "" if default == said else default
            meaning += f" ({before})" if before else ""
        group = getattr(ctx.command, "group_of", lambda _: OTHERS)(parameter)
        groups.setdefault(group, []).append(
            f"| `{_cell(names)}` | {_cell(_escaped(meaning))} | {_cell(_escaped(default))} |"
        )
    for heading, rows in groups.items():
        title = "Other options" if heading == OTHERS and len(groups) > 1 else heading
        yield f"\n| {title} | | default |\n| --- | --- | --- |"
        yield "\n".join(rows)


def _cell(text: str) -> str:
    """Text that does not end a cell of a table."""
    return text.replace("|", "\\|")


def _escaped(text: str) -> str:
    """Text in which Markdown finds no marks of its own."""
    return re.sub(r"([*_<>\[\]~^])", r"\\\1", text)


if __name__ == "__main__":
    click.echo(page(), nl=False)
