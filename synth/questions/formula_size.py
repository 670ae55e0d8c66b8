"""An estimate of the size of a question's formula, before it is written."""

from __future__ import annotations

from synth.encoding import Question

MOST_CLAUSES = 40_000_000
"""A question with more clauses is not written at all: it would take about 6 GB of memory."""


def expected_clauses(question: Question) -> int:
    """A rough count of clauses, right to a factor of two, from cells, plays and ticks."""
    each = 240 if question.count_links else 130
    length, width, height = question.size
    return length * width * height * len(question.all_plays) * len(question.ticks) * each
