"""What a layout was made for: a function and a delay, kept with it wherever it goes.

It says what the layout is to be judged by, never how it behaves. A function is written as
equations in the operators of IEEE Std 1364, ``q = a ^ b; c = a & b``, or as a table where
equations cannot say it: where outputs have don't cares, or are too long. What the equations mean is
read elsewhere (``synth.simulator.made_for``).
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any

from synth import fields
from synth.errors import InputError

_NAME = re.compile(rf"(?<![\w']){fields.NAME_PATTERN.pattern}")
"""A name in an equation; what follows the apostrophe of ``1'b0`` is none."""

_TABLE_KEYS = ("inputs", "outputs", "table")


@dataclass(frozen=True, slots=True)
class Table:
    """A function as rows: one digit per input, a space, and ``0``, ``1`` or ``-`` per output.

    The keys and rows are those of a specification's table.
    """

    inputs: tuple[str, ...]
    outputs: tuple[str, ...]
    rows: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class MadeFor:
    """What a layout was made for.

    Attributes:
        function: equations, or a table.
        delay: ticks that it has to meet, or None where none was asked.
    """

    function: str | Table
    delay: int | None = None

    def renamed(self, names: Mapping[str, str]) -> MadeFor:
        """The same with pins renamed; names that ``names`` does not hold stay."""

        def new(name: str) -> str:
            return names.get(name, name)

        if isinstance(self.function, str):
            equations = _NAME.sub(lambda found: new(found[0]), self.function)
            return replace(self, function=equations)
        table = self.function
        inputs, outputs = tuple(map(new, table.inputs)), tuple(map(new, table.outputs))
        return replace(self, function=Table(inputs, outputs, table.rows))

    def entries(self) -> dict[str, Any]:
        """The keys of a layout document that say it.

        Raises:
            InputError: if the function is no line of printable text: no document is written that
                could not be read.
        """
        table = self.function
        written: Any
        if isinstance(table, str):
            written = fields.line(table, "function")
        else:
            values = (table.inputs, table.outputs, table.rows)
            written = {key: list(value) for key, value in zip(_TABLE_KEYS, values, strict=True)}
        return {"function": written} | ({} if self.delay is None else {"delay": self.delay})


def read_made_for(document: Mapping[str, Any]) -> MadeFor | None:
    """What a layout document says it was made for, or None.

    Raises:
        InputError: naming the place, for values of a wrong kind, or a delay without a function.
    """
    if "function" not in document:
        if "delay" in document:
            raise InputError(
                "there is a delay, but no function", place="delay", way_out="add the function"
            )
        return None
    delay = None
    if "delay" in document:
        delay = fields.whole(document["delay"], "delay", low=0)
    return MadeFor(_read_function(document["function"]), delay)


def _read_function(value: object) -> str | Table:
    if isinstance(value, str):
        return fields.line(value, "function")
    if not isinstance(value, Mapping):
        raise InputError(
            f"{fields.shown(value)} is no function",
            place="function",
            way_out='write it as equations, "q = a ^ b", or as a table: inputs, outputs, table',
        )
    fields.check_keys(value, _TABLE_KEYS, "function", required=_TABLE_KEYS)
    listed = {
        key: tuple(
            fields.text(entry, f"function.{key}[{number}]")
            for number, entry in enumerate(fields.items(value[key], f"function.{key}"))
        )
        for key in _TABLE_KEYS
    }
    return Table(listed["inputs"], listed["outputs"], listed["table"])
