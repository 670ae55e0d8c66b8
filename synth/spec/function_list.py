"""A list of functions in a file: a line each, a truth table or text."""

from __future__ import annotations

from pathlib import Path

from synth import fields
from synth.errors import InputError
from synth.files import read_text
from synth.spec.classes import Columns
from synth.spec.function import BooleanFunction


def read_function_list(path: str | Path, function: BooleanFunction) -> tuple[Columns, ...]:
    """The functions of a file, each as its columns.

    A line holds the columns of one, with spaces between (``0001 0110``; ``-`` is a don't care), or
    text (``s = a ^ b; c = a & b``) whose inputs count in the order in which they appear. What
    follows a ``#`` is a comment.

    Args:
        path: the file.
        function: how many inputs and outputs each of them has.

    Raises:
        InputError: naming the line that is none, or if there is none at all.
    """
    found = []
    for number, line in enumerate(read_text(path).splitlines(), start=1):
        text = line.partition("#")[0].strip()
        if text:
            try:
                found.append(columns_from(text, function))
            except InputError as error:
                raise InputError(
                    error.problem, file=str(path), place=f"line {number}", way_out=error.way_out
                ) from None
    if not found:
        raise InputError(
            "no function in it", file=str(path), way_out="write a truth table a line, such as 0110"
        )
    return tuple(found)


def columns_from(text: str, function: BooleanFunction) -> Columns:
    """The columns of one function, as a line of a list gives it (``read_function_list``).

    Raises:
        InputError: if it gives none.
    """
    from synth.spec.documents import parse_spec

    if "=" in text:
        given = parse_spec(text).function
        columns = tuple(given.outputs.values())
        inputs = len(given.inputs)
        if inputs != len(function.inputs):
            raise InputError(
                f"{fields.shown(text)} has {inputs} inputs",
                way_out=f"write a function of {len(function.inputs)} inputs, or its truth table",
            )
    else:
        columns = tuple(text.split())
    for column in columns:
        if set(column) - set("01-") or len(column) != function.rows:
            raise InputError(
                f"{fields.shown(column)} is no column of {function.rows} rows",
                way_out=f"write {function.rows} characters of 0, 1 and -",
            )
    if len(columns) != len(function.outputs):
        raise InputError(
            f"{len(columns)} outputs in {fields.shown(text)}",
            way_out=f"give each of the {len(function.outputs)} outputs a column",
        )
    if not set("".join(columns)) - {"-"}:
        raise InputError("it asks for no value", way_out="give some rows a 0 or a 1")
    return columns
