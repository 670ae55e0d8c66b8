"""Pieces of a layout: which of its parts make which signal, and which carry it.

They are for the reader, like a name: they say nothing of what a layout is and does. A *gate* is
what makes a signal: inverters, their hosts, the wire that joins them. A *wire* is what carries a
signal on from where it is made, or from an input: wires, buffers, what they rest on.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Mapping, Sequence
from dataclasses import dataclass, replace
from enum import StrEnum
from typing import Any

from synth import fields
from synth.errors import InputError
from synth.medium import Block, Cell, Size
from synth.medium_document import read_cell

_KEYS = ("name", "kind", "reads", "cells")


class PieceKind(StrEnum):
    """What a piece does with its signal."""

    GATE = "gate"
    WIRE = "wire"


@dataclass(frozen=True, slots=True)
class Piece:
    """Parts of a layout that belong together.

    Attributes:
        name: of the signal.
        kind: whether it makes the signal or carries it.
        reads: the signals that a gate reads; empty for a wire.
        cells: where its parts are, each cell once, sorted.
    """

    name: str
    kind: PieceKind
    reads: tuple[str, ...]
    cells: tuple[Cell, ...]

    @property
    def title(self) -> str:
        """``gate n12``: what it is called among all pieces."""
        return f"{self.kind} {self.name}"

    @property
    def box(self) -> tuple[Cell, Cell]:
        """Its lowest and its highest cell on each axis."""
        low = tuple(min(cell[axis] for cell in self.cells) for axis in range(3))
        high = tuple(max(cell[axis] for cell in self.cells) for axis in range(3))
        return (low[0], low[1], low[2]), (high[0], high[1], high[2])

    @property
    def size(self) -> Size:
        """Of the box around it."""
        low, high = self.box
        return (high[0] - low[0] + 1, high[1] - low[1] + 1, high[2] - low[2] + 1)

    def moved(self, cell_to: Callable[[Cell], Cell]) -> Piece:
        """The piece with every cell carried over."""
        return replace(self, cells=tuple(sorted(map(cell_to, self.cells))))


_WITHOUT = "leave out 'pieces' altogether: the layout does without"
"""A way out that always serves: pieces are for the reader only."""


def check_pieces(pieces: Sequence[Piece], cells: Mapping[Cell, Block]) -> None:
    """Refuse pieces that are empty, share a title or a cell, or name a cell without a part.

    Raises:
        InputError: naming the place.
    """
    titles: set[str] = set()
    held: dict[Cell, str] = {}
    for index, piece in enumerate(pieces):
        place = fields.under("pieces", index)
        if piece.title in titles:
            raise InputError(
                f"there are two pieces {fields.shown(piece.title)}",
                place=place,
                way_out=f"give every gate, and every wire, a name of its own, or {_WITHOUT}",
            )
        titles.add(piece.title)
        if not piece.cells:
            raise InputError(
                f"{piece.title} has no cells",
                place=place,
                way_out=f"leave the piece out, or {_WITHOUT}",
            )
        for cell in piece.cells:
            if cell not in cells:
                raise InputError(
                    f"{piece.title} has the cell {list(cell)}, which holds no part",
                    place=fields.under(place, "cells"),
                    way_out=f"name only cells of parts, or {_WITHOUT}",
                )
            if cell in held:
                raise InputError(
                    f"the cell {list(cell)} is in {held[cell]} and in {piece.title}",
                    place=fields.under(place, "cells"),
                    way_out=f"keep it in one of them, or {_WITHOUT}",
                )
            held[cell] = piece.title


def without_cells(pieces: Sequence[Piece], gone: Collection[Cell]) -> tuple[Piece, ...]:
    """The pieces without some cells; those of which nothing is left are left out."""
    kept = (
        replace(piece, cells=tuple(cell for cell in piece.cells if cell not in gone))
        for piece in pieces
    )
    return tuple(piece for piece in kept if piece.cells)


def piece_entry(piece: Piece) -> dict[str, Any]:
    """A piece as layout documents write it; only gates have ``reads``."""
    reads = {"reads": list(piece.reads)} if piece.kind is PieceKind.GATE else {}
    return {
        "name": piece.name,
        "kind": str(piece.kind),
        **reads,
        "cells": [list(cell) for cell in piece.cells],
    }


def read_pieces(value: object) -> tuple[Piece, ...]:
    """The pieces that a layout document lists.

    Raises:
        InputError: naming the place, for unknown keys or values of a wrong kind.
    """
    return tuple(
        _read_piece(entry, fields.under("pieces", index))
        for index, entry in enumerate(fields.items(value, "pieces"))
    )


def _read_piece(value: object, place: str) -> Piece:
    entry = fields.table(value, place)
    fields.check_keys(entry, _KEYS, place, required=("name", "kind", "cells"))
    kinds = [str(kind) for kind in PieceKind]
    kind = PieceKind(fields.choice(entry["kind"], kinds, fields.under(place, "kind"), "kind"))
    cells = fields.under(place, "cells")
    reads = fields.under(place, "reads")
    return Piece(
        name=fields.line(entry["name"], fields.under(place, "name")),
        kind=kind,
        reads=tuple(
            fields.line(read, fields.under(reads, index))
            for index, read in enumerate(fields.items(entry.get("reads", []), reads))
        ),
        cells=tuple(
            sorted(
                read_cell(cell, fields.under(cells, index))
                for index, cell in enumerate(fields.items(entry["cells"], cells))
            )
        ),
    )
