"""Cells as the sentences of a review name them."""

from __future__ import annotations

from collections.abc import Sequence

from synth.medium import Cell
from synth.simulator.explaining.reasons import show_cell
from synth.words import listed

MAX_NAMED = 4
"""Most cells that a sentence names before it counts the rest."""


def named_cells(cells: Sequence[Cell]) -> str:
    """``(1,0,2), (1,0,3) and 2 more``."""
    more = len(cells) - MAX_NAMED
    words = [show_cell(cell) for cell in cells[:MAX_NAMED]]
    return listed([*words, f"{more} more"] if more > 0 else words)
