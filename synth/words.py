"""Small words that every text needs: plurals, and lists as sentences write them."""

from __future__ import annotations

from collections.abc import Sequence

_PLURALS = {"box": "boxes", "entry": "entries", "ledge": "ledges"}
"""Plurals that are more than an ``s``."""


def counted(count: int, thing: str) -> str:
    """``1 tick``, ``2 ticks``, ``0 boxes``: a number and what it counts, in the right form."""
    return f"{count:,} {thing if count == 1 else _PLURALS.get(thing, thing + 's')}"


def ticks(count: int) -> str:
    """``1 tick``, ``2 ticks``."""
    return counted(count, "tick")


def listed(words: Sequence[str], last: str = "and") -> str:
    """``a``, ``a and b``, ``a, b and c``."""
    if len(words) < 2:
        return "".join(words)
    return f"{', '.join(words[:-1])} {last} {words[-1]}"
