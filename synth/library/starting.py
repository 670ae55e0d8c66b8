"""Layouts of a store to begin a search with: they do what is asked, or nearly, and are shrunk."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from itertools import islice

from synth.layout import Layout
from synth.library.similar import matches
from synth.library.store import Store
from synth.questions.problem import Problem
from synth.questions.room import limits_beyond
from synth.search.placing.stricter import adapted, stricter
from synth.spec import Limits

MOST_STARTS = 3
"""Layouts of one kind that shrinking begins with, at most."""


def starts(store: Store, problem: Problem, own: Limits) -> tuple[Layout, ...]:
    """Layouts of a store that do what is asked, the limits of space left aside.

    They may have been found for other limits, for less delay, without ground, or to be stacked. Of
    those that were found for other joints the ones that can be given the joints asked are
    (``synth.search.placing.stricter``). Every one was judged.

    Args:
        store: where layouts are kept.
        problem: what is asked, with the limits in force.
        own: the limits that the user gave: those that were assumed hold no start back.

    Returns:
        The best first, those whose joints were given to them behind the others.

    Raises:
        InputError: if an entry cannot be read.
    """
    spec = problem.spec.with_joints().replace(limits=own)
    roomy = replace(problem, spec=spec.replace(limits=limits_beyond(spec)))
    found = dict.fromkeys((*_as_they_are(store, roomy), *_with_joints_given(store, roomy)))
    return tuple(
        replace(
            layout,
            made_for=None,
            stack=None if spec.stack is None else layout.stack,
            # What needs no ground stands on it as well, and shrinking takes out what held it up.
            ground=layout.ground or spec.ground,
        )
        for layout in found
    )


def _as_they_are(store: Store, problem: Problem) -> Iterator[Layout]:
    return (match.layout for match in islice(matches(store, problem), MOST_STARTS))


def _with_joints_given(store: Store, problem: Problem) -> Iterator[Layout]:
    own = problem.limits
    strict = stricter(problem, own)
    if strict is None:
        return
    narrow, _ = strict
    for layout in _as_they_are(store, narrow.under(limits_beyond(narrow.spec))):
        made = adapted(layout, problem, own)
        if made is not None:
            yield made
