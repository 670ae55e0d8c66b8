"""How values show themselves in a notebook: they ask, and what draws them stands far above them.

Notebooks call ``_repr_html_`` and ``_repr_svg_`` of what a cell gives, and show whichever is there
(the display protocol of IPython, from memory). A value that ``Shows`` hands the question on to the
drawer that the package has named. So layouts need not know who draws them, and nothing that draws
is loaded before something is shown.

Floor 1: imports nothing of ours.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

Drawer = Callable[[Any, str], str | None]
"""Draws a value as ``html`` or ``svg``; None where it has no such picture."""

_drawers: list[Drawer] = []


def draw_with(drawer: Drawer) -> None:
    """Name the drawer of all values, in the place of any before."""
    _drawers[:] = [drawer]


class Shows:
    """A value that shows itself in a notebook."""

    __slots__ = ()

    def _repr_html_(self) -> str | None:
        """What a notebook shows; None: its text."""
        return _drawn(self, "html")

    def _repr_svg_(self) -> str | None:
        """The same as a picture alone; None where it is none."""
        return _drawn(self, "svg")


def _drawn(value: Shows, form: str) -> str | None:
    return _drawers[0](value, form) if _drawers else None
