"""Arguments and options that several commands share, and what a shell may complete in them."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager

import click
from click.shell_completion import CompletionItem

from synth.errors import InputError

LAYOUT = click.argument("layout", metavar="LAYOUT", type=click.Path())

RULES = click.option(
    "--rules",
    metavar="FILE",
    type=click.Path(),
    help="A rule table (TOML) instead of the medium's own: reach, buffer_delays.",
)


def complete_spec(
    ctx: click.Context, parameter: click.Parameter, incomplete: str
) -> list[CompletionItem]:
    """Names of targets; files are left to the shell."""
    from synth.spec.targets import target_names

    names = [name for name in target_names() if name.startswith(incomplete)]
    return [CompletionItem(name) for name in names] or [CompletionItem(incomplete, type="file")]


def split_list(values: Sequence[str]) -> tuple[str, ...]:
    """The items of a repeatable option whose values may be lists with commas."""
    items = [item.strip() for value in values for item in value.split(",")]
    return tuple(dict.fromkeys(item for item in items if item))


@contextmanager
def at_option(option: str | Mapping[str, str]) -> Iterator[None]:
    """Let errors name the option that the user typed.

    Args:
        option: the option; or, for each place that an error may name, the option it came by
            (errors at other places stay as they are).
    """
    try:
        yield
    except InputError as error:
        named = option if isinstance(option, str) else option.get(error.place or "", error.place)
        raise InputError(
            error.problem, file=error.file, place=named, way_out=error.way_out
        ) from None
