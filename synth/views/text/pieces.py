"""The pieces of a built circuit as text: what each takes up, when it is done, the longest way."""

from __future__ import annotations

from synth.circuits.pieces import Pieces
from synth.layout import Piece, PieceKind
from synth.layout.pins import show_size
from synth.views.text.layers import columns

MOST_LISTED = 16
"""Pieces that are listed; of more, those of the most parts."""


def pieces_text(found: Pieces) -> str:
    """A table of the pieces, those of the most parts first."""
    ordered = sorted(found.pieces, key=lambda piece: -len(piece.cells))
    listed = ordered[:MOST_LISTED]
    rows = [("piece", "reads", "parts", "size", "ticks")]
    rows += [
        (
            piece.title,
            ", ".join(piece.reads),
            str(len(piece.cells)),
            show_size(piece.size),
            f"{found.since[piece.title]} to {found.until[piece.title]}",
        )
        for piece in listed
    ]
    more = len(ordered) - len(listed)
    head = "Pieces" if not more else f"Pieces, the {len(listed)} largest of {len(ordered)}"
    return "\n".join([head, *columns(rows)])


def totals_words(pieces: tuple[Piece, ...]) -> str:
    """``60 gates of 702 parts, 66 wires of 1,384``."""
    gates = [len(piece.cells) for piece in pieces if piece.kind is PieceKind.GATE]
    wires = [len(piece.cells) for piece in pieces if piece.kind is PieceKind.WIRE]
    return f"{len(gates)} gates of {sum(gates):,} parts, {len(wires)} wires of {sum(wires):,}"


def critical_text(found: Pieces) -> str:
    """The critical path, tick by tick."""
    rows = [("tick", "piece", "at")]
    rows += [
        (str(step.tick), step.piece, "" if step.at is None else ",".join(map(str, step.at)))
        for step in found.critical
    ]
    head = "Critical path"
    if not found.played:
        head += ": the longest way, at the latest, since not every assignment was played"
    return "\n".join([head, *columns(rows)])
