"""What tries of placing return in the end."""

from __future__ import annotations

from synth.layout import Layout
from synth.search.placing.turns import Tries


def returned(tries: Tries) -> Layout | None:
    """The layout that tries return, or None."""
    while True:
        try:
            next(tries)
        except StopIteration as end:
            found: Layout | None = end.value
            return found
