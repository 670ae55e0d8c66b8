"""What an edit changed, small enough to keep for ever: cells, and the rest where it differs.

A patch is written as JSON, one line of a journal:

```json
{"cells": [[[0, 0, 1], {"part": "wire"}], [[1, 0, 1], null]], "rest": {"ground": true}}
```
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from synth import fields
from synth.desk.design import Design, checked, read_cells
from synth.errors import InputError
from synth.layout import Layout
from synth.layout.documents import FORMAT, VERSION
from synth.medium import Block, Cell
from synth.medium_document import block_entry, read_block, read_cell

_MADE_FOR = ("function", "delay")
_REST = ("name", "size", "pins", "stack", "chain", "ground", *_MADE_FOR, "locked")


@dataclass(frozen=True, slots=True)
class Patch:
    """From one design to the next.

    Attributes:
        cells: what each cell that differs holds afterwards; None: nothing.
        rest: keys of the layout's document besides its parts, and ``locked``, as they are
            afterwards, where they differ; None: left out.
        label: what was done, in a few words.
    """

    cells: Mapping[Cell, Block | None]
    rest: Mapping[str, Any]
    label: str = ""

    def __bool__(self) -> bool:
        return bool(self.cells or self.rest)

    def document(self) -> dict[str, Any]:
        """The patch as a journal keeps it."""
        return {
            "cells": [[list(cell), _entry(cell, block)] for cell, block in self.cells.items()],
            "rest": dict(self.rest),
            "label": self.label,
        }

    @staticmethod
    def from_document(document: object) -> Patch:
        """Read what ``document`` wrote.

        Raises:
            InputError: if it is no patch.
        """
        table = fields.table(document, "patch")
        fields.check_keys(table, ("cells", "rest", "label"), "patch", required=("cells", "rest"))
        cells: dict[Cell, Block | None] = {}
        for number, pair in enumerate(fields.items(table["cells"], "cells")):
            place = fields.under("cells", number)
            values = fields.items(pair, place)
            if len(values) != 2:
                raise InputError(f"{fields.shown(pair)} is no cell and what it holds", place=place)
            cell = read_cell(values[0], place)
            held = values[1]
            if held is not None:
                entry = {**fields.table(held, place), "at": list(cell)}
                held = read_block(entry, place)[1]
            cells[cell] = held
        rest = fields.table(table["rest"], "rest")
        fields.check_keys(rest, _REST, "rest")
        return Patch(cells, dict(rest), fields.text(table.get("label", ""), "label"))


def between(before: Design, after: Design, label: str = "") -> Patch:
    """The patch that makes ``after`` of ``before``."""
    old, new = before.layout.cells, after.layout.cells
    cells: dict[Cell, Block | None] = {}
    for cell, block in new.items():
        if old.get(cell) != block:
            cells[cell] = block
    for cell in old:
        if cell not in new:
            cells[cell] = None
    was, now = _rest(before), _rest(after)
    rest = {key: now[key] for key in _REST if was[key] != now[key]}
    return Patch(cells, rest, label)


def applied(design: Design, patch: Patch) -> Design:
    """The design that a patch makes of this one.

    Raises:
        InputError: if it does not fit: it was made for another design.
    """
    layout = design.layout
    cells = {**layout.cells, **patch.cells}
    kept = {cell: block for cell, block in cells.items() if block is not None}
    if not patch.rest:
        return design.with_layout(layout.replace(cells=kept))
    rest = {**_rest(design), **patch.rest}
    document = {
        "format": FORMAT,
        "version": VERSION,
        **{key: rest[key] for key in _REST if key != "locked" and rest[key] is not None},
        "parts": [],
    }
    bare = Layout.from_document(document)
    layout = checked(bare.replace(cells=kept))
    return Design(layout, read_cells(rest["locked"], "locked", layout))


def _rest(design: Design) -> dict[str, Any]:
    """Everything but the parts, as documents write it."""
    document = design.layout.replace(cells={}).document()
    found = {key: document.get(key) for key in _REST}
    found["locked"] = [list(cell) for cell in sorted(design.locked)]
    return found


def _entry(cell: Cell, block: Block | None) -> dict[str, Any] | None:
    if block is None:
        return None
    entry = block_entry(cell, block)
    del entry["at"]
    return entry
