"""Layouts: the value, its documents, turning, mirroring, repeating and chaining it."""

from synth.layout.layout import Layout
from synth.layout.made_for import MadeFor
from synth.layout.pieces import Piece, PieceKind
from synth.layout.pins import Pin, Stack

__all__ = ["Layout", "MadeFor", "Piece", "PieceKind", "Pin", "Stack"]
