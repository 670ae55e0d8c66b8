"""Copies of a design side by side: what is shown, and which cell of the design each cell is."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from synth import fields
from synth.errors import InputError
from synth.layout import Layout
from synth.layout.transform import repeated
from synth.medium import AXES, Cell, with_place
from synth.medium_document import read_cell


@dataclass(frozen=True, slots=True)
class Copies:
    """A layout as it is shown: alone, or so many copies of its stack.

    Attributes:
        layout: the layout; with more than one copy it states a stack.
        count: how many copies.
    """

    layout: Layout
    count: int

    @staticmethod
    def of(layout: Layout, count: int) -> Copies:
        """So many copies, or one of a layout that does not stack."""
        return Copies(layout, 1 if layout.stack is None else count)

    def view(self) -> Layout:
        """The layout that is drawn and played.

        Raises:
            InputError: if copies of it cannot stand side by side.
        """
        stack = self.layout.stack
        if self.count == 1 or stack is None:
            return self.layout
        return repeated(self.layout, stack.axis, self.count, stack.pitch)

    def home(self, cell: Cell) -> Cell:
        """The cell of the layout that a cell of the view is.

        Raises:
            InputError: if it lies between two copies.
        """
        stack = self.layout.stack
        if self.count == 1 or stack is None:
            return cell
        index = AXES.index(stack.axis)
        place = cell[index] % stack.pitch
        if place >= self.layout.size[index]:
            raise InputError(f"the cell {list(cell)} lies between two copies")
        return with_place(cell, index, place)

    def everywhere(self, cells: Iterable[Cell]) -> list[Cell]:
        """Cells of the layout in every copy."""
        stack = self.layout.stack
        if self.count == 1 or stack is None:
            return sorted(cells)
        index = AXES.index(stack.axis)
        return [
            with_place(cell, index, cell[index] + copy * stack.pitch)
            for copy in range(self.count)
            for cell in sorted(cells)
        ]

    def spread(self, switches: Mapping[str, int]) -> dict[str, int]:
        """Switches of the layout's inputs, set alike in every copy."""
        if self.count == 1:
            return dict(switches)
        copies = range(self.count)
        return {f"{name}_{copy}": value for name, value in switches.items() for copy in copies}

    def first(self, switches: Mapping[str, int]) -> dict[str, int]:
        """The switches of the view as switches of the layout: those of the first copy."""
        if self.count == 1:
            return dict(switches)
        return {
            name.removesuffix("_0"): value
            for name, value in switches.items()
            if name.endswith("_0")
        }

    def homed(self, edit: object) -> object:
        """An edit of the view as an edit of the layout: what is done to one copy is done to all.

        Raises:
            InputError: if it names cells that are of no copy, or is of one copy alone.
        """
        if self.count == 1 or not isinstance(edit, Mapping):
            return edit
        if edit.get("kind") == "slice":
            raise InputError("slices are put in and taken out of one copy", way_out="show one copy")
        homed = dict(edit)
        for key in ("cells", "empty", "box"):
            if key in homed and edit.get("kind") != "change":
                cells = fields.items(homed[key], key)
                homed[key] = [list(self.home(read_cell(cell, key))) for cell in cells]
        if "parts" in homed:
            parts = [fields.table(part, "parts") for part in fields.items(homed["parts"], "parts")]
            homed["parts"] = [
                {**part, "at": list(self.home(read_cell(part.get("at"), "at")))} for part in parts
            ]
        if edit.get("kind") == "pin":
            homed["at"] = list(self.home(read_cell(homed.get("at"), "at")))
        return homed
