"""Narrows the candidates down, measure by measure, to one smallest layout."""

from __future__ import annotations

from synth.questions.box import BoxQuestion
from synth.search.walk.shares import Walk
from synth.search.workers.judged import Found


def smallest(walk: Walk, measures: tuple[str, ...], candidates: list[BoxQuestion]) -> Found | None:
    """A layout that is best by the measures in their order; None if there is no layout.

    Raises:
        OutOfTime, Refused: see ``Walk.first``.
    """
    remaining = candidates
    parts: int | None = None
    for measure in measures:
        if measure == "parts":
            parts = _fewest_parts(walk, remaining)
            if parts is None:
                return None
            continue
        group = _first_group(walk, remaining, measure, parts)
        if group is None:
            return None
        remaining = group
    chosen = walk.first(remaining, parts)
    return None if chosen is None else walk.ledger.layout_for(chosen)


def _first_group(
    walk: Walk, candidates: list[BoxQuestion], measure: str, parts: int | None
) -> list[BoxQuestion] | None:
    """The candidates with the lowest value of a measure at which any has a layout."""
    asked = candidates if measure == "delay" else _slowest(candidates)
    # Ask about all values in one pass, so that workers never wait between them.
    first = walk.first(sorted(asked, key=lambda candidate: candidate.measure(measure)), parts)
    if first is None:
        return None
    value = first.measure(measure)
    return [candidate for candidate in candidates if candidate.measure(measure) == value]


def _slowest(candidates: list[BoxQuestion]) -> list[BoxQuestion]:
    """Each box once, with its largest delay: a box without a layout there has none at all."""
    delays: dict[tuple[int, int, int], int] = {}
    for size, delay, _ in candidates:
        delays[size] = max(delay, delays.get(size, delay))
    return [candidate for candidate in candidates if candidate.delay == delays[candidate.size]]


def _fewest_parts(walk: Walk, candidates: list[BoxQuestion]) -> int | None:
    """The fewest parts of any layout of any candidate; None if there is no layout."""
    chosen = walk.first(candidates)
    if chosen is None:
        return None
    parts = walk.ledger.layout_for(chosen).layout.part_count
    while parts > 0:
        chosen = walk.first(candidates, parts - 1)
        if chosen is None:
            break
        parts = walk.ledger.layout_for(chosen).layout.part_count
    return parts
