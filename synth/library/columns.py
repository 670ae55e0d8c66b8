"""What each column of a store may hold, and what is wrong with a value in it.

SQLite accepts a value of any type in any column, and a store may come from a stranger. So every row
is checked before it is used.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Mapping, Sequence
from datetime import date
from math import isfinite
from typing import Any

from synth.errors import InputError
from synth.fields import shown
from synth.library.entry import STATUSES
from synth.medium import AXES, Joint
from synth.printable import is_printable
from synth.questions.measures import MEASURES
from synth.spec.function import MAX_INPUTS

Fault = Callable[[object], str | None]
"""A check of a value: says what is wrong with it, as a phrase; None if nothing is."""

MOST_CHARACTERS = 1 << 14
"""Longest text of one column; a claim lists every box that is open."""

MOST_DOCUMENT = 1 << 25
"""The most characters of the document of a question or a layout: 32 MB. The largest layout that is
read, of 200,000 cells, takes half of that."""

UNCLEAN = "has characters that cannot be shown"
"""The only fault for which a row is not refused: its text is cleaned and shown."""

WORD = re.compile(r"[\w.+-]{1,40}")
"""What a tag may be: letters and digits of any script, and ``_ . + -``."""


def _whole(low: int, high: int = (1 << 31) - 1) -> Fault:
    def fault(value: object) -> str | None:
        if isinstance(value, bool) or not isinstance(value, int):
            return "is no whole number"
        return None if low <= value <= high else f"is not {low} to {high}"

    return fault


def _or_null(other: Fault) -> Fault:
    return lambda value: None if value is None else other(value)


def _text(most: int = MOST_CHARACTERS, *, lines: bool = False, least: int = 0) -> Fault:
    def fault(value: object) -> str | None:
        if not isinstance(value, str):
            return "is no text"
        if len(value) > most:
            return f"has {len(value)} characters, more than {most}"
        if len(value) < least:
            return "is empty"
        # Undecodable bytes come as lone surrogates (``synth.library.file``), so this sees them.
        return None if is_printable(value, lines=lines) else UNCLEAN

    return fault


def _matching(pattern: str, what: str) -> Fault:
    compiled = re.compile(pattern)

    def fault(value: object) -> str | None:
        if isinstance(value, str) and compiled.fullmatch(value):
            return None
        return f"is no {what}"

    return fault


def _one_of(*words: str) -> Fault:
    return lambda value: None if value in words else f"is none of {', '.join(map(repr, words))}"


def _seconds(value: object) -> str | None:
    number = isinstance(value, int | float) and not isinstance(value, bool)
    return None if number and isfinite(value) and value >= 0 else "is no time"  # type: ignore


def _measures(value: object) -> str | None:
    words = value.split(",") if isinstance(value, str) else [""]
    good = set(words) <= set(MEASURES) and len(set(words)) == len(words)
    return None if good else "is no list of measures"


def _day(value: object) -> str | None:
    try:
        date.fromisoformat(value if isinstance(value, str) else "")
    except ValueError:
        return "is no day"
    return None


_HASH = _matching("[0-9a-f]{64}", "hash")
_SIZE = _or_null(_whole(1))
_LINE = _text()

RESULTS: Mapping[str, Fault] = {
    "number": _whole(1, (1 << 63) - 1),
    "key": _HASH,
    "asked": _text(MOST_DOCUMENT),
    "function_key": _HASH,
    "name": _LINE,
    "inputs": _whole(0, MAX_INPUTS),
    "outputs": _whole(1),
    "function": _LINE,
    "table": _matching("[01-]+( [01-]+)*", "truth table"),
    "stack": _one_of("", *AXES),
    "joints": _one_of(*map(str, Joint), "mixed"),
    "minimize": _measures,
    "delay_asked": _or_null(_whole(0)),
    "status": _one_of(*STATUSES),
    "proven": _whole(0, 1),
    "length": _SIZE,
    "width": _SIZE,
    "height": _SIZE,
    "volume": _SIZE,
    "floor": _SIZE,
    "parts": _or_null(_whole(0)),
    "delay": _or_null(_whole(0)),
    "bound": _or_null(_whole(0)),
    "claim": _LINE,
    "proof": _or_null(_LINE),
    "solver": _LINE,
    "seed": _whole(0, (1 << 63) - 1),
    "seconds": _seconds,
    "version": _LINE,
    "made": _day,
}
LAYOUTS: Mapping[str, Fault] = {"number": RESULTS["number"], "layout": _text(MOST_DOCUMENT)}
RULED_OUT: Mapping[str, Fault] = {
    "box_key": _HASH,
    "length": _whole(1),
    "width": _whole(1),
    "height": _whole(1),
    "delay": _whole(0),
    "parts": _whole(-1),
}
NOTES: Mapping[str, Fault] = {
    "number": RESULTS["number"],
    "note": _text(least=1),
}
TAGS: Mapping[str, Fault] = {
    "number": RESULTS["number"],
    "tag": _matching(WORD.pattern, "tag"),
}
BEYOND: Mapping[str, Fault] = {
    "number": RESULTS["number"],
    "length": _SIZE,
    "width": _SIZE,
    "height": _SIZE,
    "parts": RESULTS["parts"],
    "delay": RESULTS["delay"],
    "seconds": _seconds,
    "version": _LINE,
    "made": _day,
    "layout": _or_null(LAYOUTS["layout"]),
}
TABLES: Mapping[str, Mapping[str, Fault]] = {
    "results": RESULTS,
    "layouts": LAYOUTS,
    "ruled_out": RULED_OUT,
    "notes": NOTES,
    "tags": TAGS,
    "beyond": BEYOND,
}
"""The tables that hold answers, and their columns."""


def faults(table: str, names: Sequence[str], row: Sequence[Any]) -> Iterator[str]:
    """What is wrong with the values of a row, one phrase for each wrong value.

    Args:
        table: a key of ``TABLES``.
        names: the columns that the row holds, in its order.
        row: the values.
    """
    columns = TABLES[table]
    for name, value in zip(names, row, strict=True):
        problem = columns[name](value)
        if problem is not None:
            yield f"column {name}: {shown(value)} {problem}"


def require_row(
    table: str, names: Sequence[str], row: Sequence[Any], *, file: str, number: object
) -> None:
    """Refuse a row that cannot be read. Text that merely cannot be shown is accepted.

    Raises:
        InputError: naming the store, the table, the row, the column and the value.
    """
    columns = TABLES[table]
    for name, value in zip(names, row, strict=True):
        problem = columns[name](value)
        if problem is not None and problem != UNCLEAN:
            raise InputError(
                f"{shown(value)} {problem}",
                file=file,
                place=f"table {table}, row {shown(number)}, column {name}",
                way_out="the store was changed or damaged: 'gatefit library verify' lists every "
                "fault, 'gatefit library merge' saves the rest into a new store",
            )
