"""Which cells may change at once: all if one formula can hold them, else some near suspects."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from synth.encoding import Question
from synth.encoding.windows.window import surrounded
from synth.medium import Cell
from synth.questions.formula_size import expected_clauses
from synth.repairing.asked import Asked

MOST_AT_ONCE = 1_500_000
"""Clauses of a formula in which all cells may change: some ten seconds to write."""

AROUND = (1, 2, 3)
"""How far around what is suspected the cells of a window lie."""

MOST_FREE = 90
"""Most cells of a window; a larger one is mostly not decided in time."""


def all_at_once(asked: Asked) -> bool:
    """Whether all cells that may change can be asked about in one formula."""
    question = Question(asked.spec, asked.layout.size, asked.delay, rules=asked.rules)
    share = len(asked.open_cells) / max(1, asked.layout.volume)
    return expected_clauses(question) * share <= MOST_AT_ONCE


def windows_around(asked: Asked, suspects: Sequence[Cell]) -> Iterator[frozenset[Cell]]:
    """Windows around suspected cells, as far as they may change: small ones first.

    Args:
        asked: what is asked.
        suspects: cells, the likeliest first.
    """
    seen: set[frozenset[Cell]] = set()
    for distance in AROUND:
        together = frozenset(surrounded(suspects, distance) & asked.open_cells)
        if together and len(together) <= MOST_FREE:
            seen.add(together)
            yield together
            continue
        centres: set[Cell] = set()
        for suspect in suspects:
            if surrounded([suspect], distance - 1) & centres:
                continue  # An earlier window holds it well inside.
            centres.add(suspect)
            near = frozenset(surrounded([suspect], distance) & asked.open_cells)
            if near and len(near) <= MOST_FREE and near not in seen:
                seen.add(near)
                yield near
