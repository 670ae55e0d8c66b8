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


STORE = click.option(
    "--store",
    metavar="FILE",
    default="gatefit.sqlite",
    envvar="GATEFIT_STORE",
    show_default=True,
    show_envvar=True,
    type=click.Path(dir_okay=False),
    help="The store of answers (SQLite).",
)


INPUTS = click.option(
    "--inputs",
    metavar="LIST",
    help="A value for every input, as a=1,b=0.",
)


def read_inputs(text: str, names: Sequence[str]) -> dict[str, int]:
    """The values of ``a=1,b=0``, in the order of ``names``, which all need one.

    Raises:
        InputError: naming what cannot be read, is unknown, given twice or missing.
    """
    place = "--inputs"
    listed = ",".join(f"{name}=0" for name in names)
    way_out = f"write it as {listed}" if names else "leave it out: the layout has no inputs"
    values: dict[str, int] = {}
    for item in filter(None, (piece.strip() for piece in text.split(","))):
        name, _, value = (word.strip() for word in item.partition("="))
        if value not in ("0", "1"):
            raise InputError(f"cannot read {item!r}", place=place, way_out=way_out)
        if name not in names:
            raise InputError(f"the layout has no input {name!r}", place=place, way_out=way_out)
        if name in values:
            raise InputError(f"the input {name!r} is given twice", place=place, way_out=way_out)
        values[name] = int(value)
    missing = [name for name in names if name not in values]
    if missing:
        raise InputError(
            f"no value for {', '.join(map(repr, missing))}", place=place, way_out=way_out
        )
    return {name: values[name] for name in names}


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
