"""Orders of columns and rows for layouts of width 2 (``slim_plan.py``) that save ticks.

Each row that a column passes is cut by a buffer, which takes a tick. This module counts those
ticks, and looks for an order in which fewer of them count.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from random import Random
from typing import TypeVar

from synth.composing.canvas import Unbuildable
from synth.composing.network import Term
from synth.composing.order import Order, Side
from synth.composing.slim_plan import (
    Arrangement,
    OutRow,
    Plan,
    feeds_row,
    first_arrangement,
    level_of,
    plan,
    terms_of,
    unread,
)

T = TypeVar("T")

MOST_WORK = 20_000
"""A limit on tries times columns squared times terms, so that large layouts get fewer tries."""


def delays(made: Plan) -> dict[OutRow, int]:
    """An estimate of when each row of a node is known, in ticks, without buffers on long lines."""
    order = made.order
    quick = order.rules.buffer_delays[0]
    known: dict[frozenset[Term], int] = {}
    climbs = made.climbs

    def cuts(level: int, low: int, high: int) -> int:
        return sum(climb.passes(level) for climb in climbs if low <= climb.x < high)

    arrival: dict[OutRow, int] = {}
    for product, parts in made.columns.items():
        ready = 0
        for number, part in enumerate(parts):
            ready += quick if number else 0
            for level in part.terms:
                term = next(item for item in product if level_of(made, item) == level)
                ready = max(
                    ready, 1 + _term_time(made, term, level, part.reads_at(level), arrival, cuts)
                )
        known[product] = ready
        for row, level in made.out_levels.items():
            if feeds_row(order, product, row):
                end = parts[-1].x + 2
                last = made.end if row.side is Side.RIGHT else 0
                crossed = cuts(level, min(end, last), max(end, last))
                arrival[row] = max(arrival.get(row, 0), ready + 1 + quick * crossed + row.inverted)
    return arrival


def _term_time(
    made: Plan,
    term: Term,
    level: int,
    x: int,
    arrival: Mapping[OutRow, int],
    cuts: Callable[[int, int, int], int],
) -> int:
    """The tick at which the row of a term is known where a column reads it."""
    quick = made.order.rules.buffer_delays[0]
    if term.name in made.order.sides:
        from_left = made.order.sides[term.name] is Side.LEFT
        crossed = cuts(level, 0, x) if from_left else cuts(level, x, made.end + 1)
        return quick * crossed + (not term.positive)
    return max((time for row, time in arrival.items() if row.node == term.name), default=0)


def improved(order: Order, tries: int, seed: int = 0) -> Arrangement:
    """An arrangement that is faster than the first one, if random changes find one.

    Args:
        order: what to paint.
        tries: the most changes to try.
        seed: the same seed gives the same arrangement.
    """
    best = first_arrangement(order)
    worth = _worth(order, best)
    rng = Random(seed)
    cost = len(best.products) * len(best.products) * max(1, len(best.terms))
    for _ in range(min(tries, MOST_WORK // max(1, cost))):
        if order.delay is not None and worth is not None and worth[0] <= order.delay:
            break
        other = _changed(order, best, rng)
        value = _worth(order, other)
        if value is not None and (worth is None or value <= worth):
            best, worth = other, value
    return best


def _worth(order: Order, arrangement: Arrangement) -> tuple[int, int, int] | None:
    try:
        made = plan(order, arrangement)
    except Unbuildable:
        return None
    arrival = delays(made)
    cut = sum(
        climb.passes(level)
        for climb in made.climbs
        for level in (*made.levels.values(), *made.out_levels.values())
    )
    return (max(arrival.values(), default=0), made.end, cut)


def _changed(order: Order, old: Arrangement, rng: Random) -> Arrangement:
    kind = 0 if order.places else rng.randrange(3)
    if kind == 0 and len(old.products) > 1 and len(order.network.nodes) == len(unread(order)):
        return replace(old, products=_moved(old.products, rng))
    if kind == 1 and len(old.nodes) > 1:
        return replace(old, nodes=_moved(old.nodes, rng))
    names = list(dict.fromkeys(term.name for term in old.terms))
    if len(names) > 1:
        names = list(_moved(names, rng))
        return replace(
            old, terms=tuple(term for name in names for term in terms_of(name, old.terms))
        )
    return old


def _moved(items: Sequence[T], rng: Random) -> tuple[T, ...]:
    """The items with one of them in another place."""
    moved = list(items)
    item = moved.pop(rng.randrange(len(moved)))
    moved.insert(rng.randrange(len(moved) + 1), item)
    return tuple(moved)
