"""What is edited at the desk: a layout, and the cells of it that are locked."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from typing import Any

from synth import fields
from synth.errors import InputError
from synth.layout import Layout
from synth.medium import Cell, Size
from synth.medium_document import read_cell

MAX_VOLUME = 50_000
"""Largest box of a design, in cells; a page cannot handle more."""

NEW_SIZE: Size = (6, 2, 4)
"""The box of a new design."""


@dataclass(frozen=True, slots=True)
class Design:
    """A layout and its locked cells. A value: every edit gives another one.

    Attributes:
        layout: the layout; what is expected of it is its ``made_for``. It need not be legal.
        locked: cells of its box that edits and jobs leave as they are, empty ones included.
    """

    layout: Layout
    locked: frozenset[Cell] = frozenset()

    def with_layout(self, layout: Layout) -> Design:
        """The same with another layout; locks outside its box are dropped."""
        kept = frozenset(cell for cell in self.locked if layout.inside(cell))
        return replace(self, layout=checked(layout), locked=kept)

    def document(self) -> dict[str, Any]:
        """The design as a journal keeps it."""
        return {
            "layout": self.layout.document(),
            "locked": [list(cell) for cell in sorted(self.locked)],
        }

    @staticmethod
    def from_document(document: object) -> Design:
        """Read what ``document`` wrote.

        Raises:
            InputError: if it is no design.
        """
        table = fields.table(document, None)
        fields.check_keys(table, ("layout", "locked"), None, required=("layout",))
        layout = checked(Layout.from_document(fields.table(table["layout"], "layout")))
        return Design(layout, read_cells(table.get("locked", []), "locked", layout))


def new_design() -> Design:
    """An empty box."""
    return Design(Layout(size=NEW_SIZE, cells={}))


def checked(layout: Layout) -> Layout:
    """The layout, if it is small enough for the desk.

    Raises:
        InputError: if its box is larger than ``MAX_VOLUME``.
    """
    if layout.volume > MAX_VOLUME:
        raise InputError(
            f"a box of {layout.volume:,} cells",
            place="size",
            way_out=f"the desk takes up to {MAX_VOLUME:,}",
        )
    return layout


def read_cells(value: object, place: str, layout: Layout) -> frozenset[Cell]:
    """A list of cells of the box.

    Raises:
        InputError: if it is none, or one lies outside.
    """
    entries = fields.items(value, place)
    return frozenset(require_inside(layout, _cells(entries, place)))


def _cells(entries: Iterable[object], place: str) -> Iterable[Cell]:
    return (read_cell(entry, fields.under(place, number)) for number, entry in enumerate(entries))


def require_inside(layout: Layout, cells: Iterable[Cell]) -> list[Cell]:
    """The cells, if all of them lie in the box.

    Raises:
        InputError: naming the first that does not.
    """
    found = list(cells)
    for cell in found:
        if not layout.inside(cell):
            raise InputError(f"the cell {list(cell)} lies outside the box")
    return found
