"""The options of the commands that search: one table, from which commands, help and docs are made.

A row says how an option is called, what it may be, what it is where nobody says, what it means, and
which commands have it. The rows stand in ``rows/``, in modules by the headings of the help. A
command takes all of its rows with ``@options("solve")``; a new command (``gatefit frontier`` is the
model) only has to be named in the rows that it wants.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from synth.cli.shared.option import SEARCH, Option
from synth.cli.shared.rows.asking import ASKING_ROWS
from synth.cli.shared.rows.searching import SEARCH_ROWS
from synth.cli.shared.rows.writing import WRITTEN_ROWS

OPTIONS: tuple[Option, ...] = (*ASKING_ROWS, *SEARCH_ROWS, *WRITTEN_ROWS)
"""Every option of the commands that search; a name stands once for each command that has it."""


def options_of(command: str) -> list[Option]:
    """The rows of a command, in the order of the table."""
    return [row for row in OPTIONS if command in row.commands]


def options(
    command: str, *, grouped: bool = True
) -> Callable[[Callable[..., Any]], Callable[..., Any]]:
    """Add all options of a command to it.

    Args:
        command: its name after ``gatefit``, as ``library find``.
        grouped: whether its help shows them in groups; a few options need none.
    """

    def add(function: Callable[..., Any]) -> Callable[..., Any]:
        for row in reversed(options_of(command)):
            function = row.click()(function)
        if grouped:
            groups = {row.name: row.group for row in options_of(command)}
            function.__dict__["groups"] = {"--store": SEARCH} | groups
        return function

    return add


def row(name: str) -> Option:
    """The first row of that long name."""
    return next(row for row in OPTIONS if row.name == name)
