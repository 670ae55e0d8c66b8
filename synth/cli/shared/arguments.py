"""Arguments and options that several commands share."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from typing import Any

import click

from synth.cli.shared.completing import complete_spec, files, folders
from synth.cli.shared.options import row
from synth.errors import InputError
from synth.layout import Layout
from synth.layout.drawing import DRAWING_ENDING
from synth.spec import Spec

LAYOUT = click.argument(
    "layout", metavar="LAYOUT", type=click.Path(), shell_complete=files(".json", DRAWING_ENDING)
)

FOLDER = click.argument("folder", metavar="FOLDER", type=click.Path(), shell_complete=folders())

COPIES = click.option(
    "--copies",
    type=click.IntRange(1),
    metavar="N",
    help="Take a row of N copies in its place, as 'gatefit row' makes it.",
)

SPEC = click.argument("spec_source", metavar="SPEC", shell_complete=complete_spec)

RULES = row("--rules").click()

TOP = row("--top").click()

CIRCUIT_FILES = files(".v", ".blif", ".aag", ".aig", ".eqn")
"""Completes files that hold circuits."""

STORE = click.option(
    "--store",
    metavar="FILE",
    default="gatefit.sqlite",
    envvar="GATEFIT_STORE",
    show_default=True,
    show_envvar=True,
    type=click.Path(dir_okay=False),
    shell_complete=files(".sqlite"),
    help="The store of answers (SQLite).",
)

INPUTS = click.option(
    "--inputs",
    metavar="LIST",
    help="Give every input one value: a=1,b=0.",
)

DRIVE = click.option(
    "--drive",
    "drives",
    multiple=True,
    metavar="NAME=WORD",
    help="Give one input a value for each tick: a=0011. Its last value stays. Repeat it for each "
    "input.  [default: every assignment of the inputs, one after the other]",
)

DELAY = click.option(
    "--delay",
    type=click.IntRange(0),
    metavar="TICKS",
    help="The delay it has to meet: inputs change at tick 0, outputs are right at this tick.",
)


LINK_DELAY = click.option(
    "--link-delay",
    type=click.IntRange(0),
    metavar="TICKS",
    help="The delay that the links of a chain have to meet, once what they wait for is there.",
)


def output_option(
    meaning: str, *endings: str, value: str = "FILE"
) -> Callable[[Callable[..., Any]], Callable[..., Any]]:
    """The option ``-o``, ``--output``.

    Args:
        meaning: what is written.
        endings: of the names of such files.
        value: how its value is called.
    """
    return click.option(
        "-o", "--output", metavar=value, shell_complete=files(*endings), help=meaning
    )


FUNCTION = click.option(
    "--function",
    "function",
    metavar="SPEC",
    shell_complete=complete_spec,
    help="What the layout should do, given as for 'gatefit solve': text such as \"q = a ^ b\", a "
    "TOML file, or the name of a target.  [default: what the layout's file says it was made for]",
)


def in_row(layout: Layout, copies: int | None) -> Layout:
    """The layout itself, or a row of copies of it.

    Raises:
        InputError: if there is no such row (``synth.simulator.rows.row_of``).
    """
    if copies is None:
        return layout
    from synth.simulator.rows import row_of

    with at_option("--copies"):
        return row_of(layout, copies)


def wanted(function: str | None) -> Spec | None:
    """The specification that ``--function`` gives, or None.

    Raises:
        InputError: if it is none.
    """
    from synth.spec.sources import resolve_spec

    return None if function is None else resolve_spec(function)


def read_words(drives: Iterable[str]) -> Mapping[str, str]:
    """The words of ``--drive a=0011``, by input.

    Raises:
        InputError: if one cannot be read or an input is driven twice.
    """
    words: dict[str, str] = {}
    for drive in drives:
        name, equals, word = drive.partition("=")
        if not equals or not name:
            raise InputError(
                f"cannot read {drive!r}", place="--drive", way_out="write it as a=0011"
            )
        if name in words:
            raise InputError(
                f"the input {name!r} is driven twice", place="--drive", way_out="drive it once"
            )
        words[name] = word
    return words


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
        # Its own kind: what cannot be written ends with another code than what cannot be used.
        raise type(error)(
            error.problem, file=error.file, place=named, way_out=error.way_out
        ) from None
