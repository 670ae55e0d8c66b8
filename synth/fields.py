"""Checked reading of values out of documents: each function returns the value or says why not.

``place`` names where a value stands (``parts[3].at``); None is the document itself.
Floor 1: imports ``synth.errors`` only.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from difflib import get_close_matches
from math import inf
from typing import Any

from synth.errors import InputError

NAME_PATTERN = re.compile(r"[A-Za-z_][A-Za-z0-9_$]*+(?:\[(?:0|[1-9][0-9]{0,5})\])?")
"""What a pin may be called: a simple identifier of IEEE Std 1364-2005, 3.7, or a bit of a bus,
``a[3]`` (bit-select, 5.2.1; both from memory)."""

_LONGEST_SHOWN = 60


def shown(value: object) -> str:
    """The user's own value for a message, shortened when it is long."""
    if isinstance(value, str | list | tuple):
        value = value[: _LONGEST_SHOWN + 1]  # as much of it as can be seen at all
    try:
        text = repr(value)
    except ValueError:  # Python refuses to write integers of thousands of digits
        text = "a number of thousands of digits"
    except RecursionError:
        text = "a value nested very deeply"
    return text if len(text) <= _LONGEST_SHOWN else text[: _LONGEST_SHOWN - 3] + "..."


def under(place: str | None, key: object) -> str:
    """The place of ``key`` inside ``place``: ``pins[0].at`` or ``parts[3]``."""
    if isinstance(key, int):
        return f"{place or ''}[{key}]"
    return f"{place}.{key}" if place else str(key)


def near(value: object, known: Iterable[str]) -> tuple[str, ...]:
    """The known words most like ``value``, at most three, best first."""
    word = str(value)
    if len(word) > _LONGEST_SHOWN:
        return ()  # Too long to be like any of them; comparing would take long.
    return tuple(get_close_matches(word, list(known), n=3, cutoff=0.5))


def suggestion(value: object, known: Sequence[str], what: str) -> str:
    """A way out for an unknown word: the nearest known one, then all of them.

    ``what`` introduces the list: "the keys here are".
    """
    close = near(value, known)
    hint = f"did you mean {close[0]!r}? " if close else ""
    return f"{hint}{what} {', '.join(known)}" if known else f"{hint}{what} none"


def check_keys(
    table: Mapping[str, Any],
    known: Sequence[str],
    place: str | None,
    required: Sequence[str] = (),
) -> None:
    """Refuse unknown keys, then ask for required ones that are missing."""
    for key in table:
        if key not in known:
            raise InputError(
                f"unknown key {shown(key)}",
                place=place,
                way_out=suggestion(key, known, "the keys here are"),
            )
    for key in required:
        if key not in table:
            raise InputError(f"the key {key!r} is missing", place=place, way_out=f"add {key!r}")


def table(value: object, place: str | None) -> Mapping[str, Any]:
    """A table of keys and values (a JSON object, a TOML table)."""
    if not isinstance(value, Mapping):
        raise InputError(f"{shown(value)} is no table", place=place, way_out="use keys and values")
    return value


def items(value: object, place: str) -> Sequence[Any]:
    """A list."""
    if not isinstance(value, list | tuple):
        raise InputError(f"{shown(value)} is no list", place=place, way_out="use a list: [...]")
    return value


def text(value: object, place: str) -> str:
    """A string."""
    if not isinstance(value, str):
        raise InputError(f"{shown(value)} is no text", place=place, way_out="put it in quotes")
    return value


def line(value: object, place: str) -> str:
    """A string that fits on one line and can be printed anywhere."""
    words = text(value, place)
    if not words.isprintable():
        raise InputError(
            f"{shown(words)} has characters that cannot be printed",
            place=place,
            way_out="use one line of printable text",
        )
    return words


def name(value: object, place: str) -> str:
    """A name of a pin: a simple identifier, or one bit of a bus."""
    word = text(value, place)
    if not NAME_PATTERN.fullmatch(word):
        raise InputError(
            f"{shown(word)} is no name for a pin",
            place=place,
            way_out="use letters, digits, _ and $, not beginning with a digit or $; for a bit of a "
            "bus, write a[3]",
        )
    return word


def words(value: object, place: str) -> tuple[str, ...]:
    """A list of words, or one text with commas or spaces between them."""
    if isinstance(value, str):
        return tuple(value.replace(",", " ").split())
    return tuple(text(word, under(place, index)) for index, word in enumerate(items(value, place)))


def flag(value: object, place: str) -> bool:
    """``true`` or ``false``."""
    if not isinstance(value, bool):
        raise InputError(
            f"{shown(value)} is neither true nor false", place=place, way_out="use true or false"
        )
    return value


def whole(value: object, place: str, low: int | None = None, high: int | None = None) -> int:
    """A whole number from ``low`` to ``high``, where given; booleans and ``1.0`` are none."""
    span = "use a whole number"
    if low is not None:
        span += f" from {low}"
    if high is not None:
        span += f" to {high}" if low is not None else f" up to {high}"
    if isinstance(value, bool) or not isinstance(value, int):
        raise InputError(f"{shown(value)} is no whole number", place=place, way_out=span)
    if low is not None and value < low:
        raise InputError(f"{shown(value)} is too small", place=place, way_out=span)
    if high is not None and value > high:
        raise InputError(f"{shown(value)} is too large", place=place, way_out=span)
    return value


def seconds(value: object, place: str) -> float:
    """A number of seconds from 0."""
    if isinstance(value, bool) or not isinstance(value, int | float) or not 0 <= value < inf:
        raise InputError(
            f"{shown(value)} is no number of seconds",
            place=place,
            way_out="use a number from 0",
        )
    return float(value)


def choice(value: object, known: Sequence[str], place: str, what: str) -> str:
    """One of the ``known`` words; ``what`` says what they are: "no part {value}"."""
    if not isinstance(value, str) or value not in known:
        raise InputError(
            f"no {what} {shown(value)}", place=place, way_out=suggestion(value, known, "use one of")
        )
    return value
