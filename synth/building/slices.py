"""Slices for rows besides those that are kept with the package: of a store, or searched for."""

from __future__ import annotations

from synth.composing.kept_slices import SliceAsked
from synth.layout import Layout
from synth.library.starting import starts
from synth.library.store import Store
from synth.questions.problem import Problem
from synth.search.walk.solve import solve
from synth.spec import Limits


def stored(asked: SliceAsked, store: Store | None) -> list[Layout]:
    """The slices in a store that do what is asked."""
    if store is None:
        return []
    return list(starts(store, Problem(asked.spec, rules=asked.rules), Limits()))


def searched(asked: SliceAsked, *, seconds: float, seed: int, workers: int) -> list[Layout]:
    """The smallest slice that a search finds in so many seconds, if it finds one."""
    outcome = solve(
        asked.spec,
        time_limit_s=seconds,
        seed=seed,
        workers=workers,
        rules=asked.rules,
        fewest_parts=False,
    )
    return [] if outcome.layout is None else [outcome.layout]
