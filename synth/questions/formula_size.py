"""How large the formula of a question will be, before it is written."""

from __future__ import annotations

from synth.encoding import Question

MOST_CLAUSES = 40_000_000
"""Clauses beyond which a question is not even written: about 6 GB of memory."""


def expected_clauses(question: Question) -> int:
    """A rough count of clauses, good to a factor of two: so many a cell, play and tick."""
    each = 240 if question.count_links else 130
    length, width, height = question.size
    return length * width * height * len(question.all_plays) * len(question.ticks) * each
