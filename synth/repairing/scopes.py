"""Which cells may change at once: all of them where that can be asked, else some around faults."""

from __future__ import annotations

from collections.abc import Iterator

from synth.encoding import Question
from synth.encoding.windows.window import surrounded
from synth.medium import Cell
from synth.questions.formula_size import expected_clauses
from synth.repairing.asked import Asked

MOST_AT_ONCE = 1_500_000
"""Clauses of a formula in which all cells may change: some ten seconds to write."""

AROUND = (1, 2, 3, 4)
"""How far around what is at fault the cells of a window lie."""


def all_at_once(asked: Asked) -> bool:
    """Whether all cells that may change can be asked about in one formula."""
    question = Question(asked.spec, asked.layout.size, asked.delay, rules=asked.rules)
    share = len(asked.open_cells) / max(1, asked.layout.volume)
    return expected_clauses(question) * share <= MOST_AT_ONCE


def windows_around(asked: Asked, suspects: list[Cell]) -> Iterator[frozenset[Cell]]:
    """Ever larger windows around suspected cells, as far as they may change."""
    seen = set()
    for distance in AROUND:
        near = frozenset(surrounded(suspects, distance) & asked.open_cells)
        if near and near not in seen:
            seen.add(near)
            yield near
