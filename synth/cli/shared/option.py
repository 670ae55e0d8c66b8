"""One option as a row of a table, from which click's option and its help are made."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import click

from synth.cli.shared.completing import Complete

ASKED = "What is asked"
SMALLEST = "What smallest means"
SEARCH = "How to search"
WRITTEN = "What to write"
GROUPS = (ASKED, SMALLEST, SEARCH, WRITTEN)
"""The groups of ``--help``, in their order."""


@dataclass(frozen=True)
class Option:
    """A row of the table.

    Attributes:
        names: as typed; ``--name`` last, a short form before it.
        commands: which have it.
        group: under which heading ``--help`` shows it.
        meaning: one or two sentences.
        value: how its value is called; "" for a flag.
        default: what it is if it is not given, in words; "" if then nothing is asked.
        fallback: the value that the command gets then.
        kind: click's type of the value.
        multiple: whether it may be given several times.
        complete: what a shell may complete.
        parameter: the command's name for it, where that is another.
        environment: a variable that says it, too.
    """

    names: tuple[str, ...]
    commands: tuple[str, ...]
    group: str
    meaning: str
    value: str = ""
    default: str = ""
    fallback: Any = None
    kind: Any = None
    multiple: bool = False
    complete: Complete | None = None
    parameter: str = ""
    environment: str = ""

    @property
    def name(self) -> str:
        """The long name."""
        return self.names[-1]

    @property
    def help(self) -> str:
        """The help as ``--help`` prints it."""
        return f"{self.meaning}  [default: {self.default}]" if self.default else self.meaning

    def click(self) -> Callable[[Callable[..., Any]], Callable[..., Any]]:
        """The option as click takes it."""
        attributes: dict[str, Any] = {"help": self.help}
        if self.value:
            attributes |= {
                "metavar": self.value,
                "type": self.kind,
                "multiple": self.multiple,
                "shell_complete": self.complete,
            }
            if self.fallback is not None:
                attributes["default"] = self.fallback
            if self.environment:
                attributes |= {"envvar": self.environment, "show_envvar": True}
        else:
            attributes["is_flag"] = True
        declared = (*self.names, *filter(None, [self.parameter]))
        return click.option(*declared, **attributes)
