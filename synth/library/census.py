"""A census and a store: what the store knows is not found out again, what is found goes there.

A store keeps an answer a question, and a census answers many: of each class of functions, its
smallest layout or that there is none, and each box that holds none. Of several outputs a store
tells the orders apart; each order of a class is a question of its own.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from itertools import permutations

from synth.layout import Layout
from synth.library.similar import matches
from synth.library.store import Store
from synth.questions.box import BoxAnswer, BoxQuestion
from synth.questions.census import CensusQuestion
from synth.questions.census_ledger import Found, Ledger
from synth.questions.in_force import limits_text, medium_text
from synth.questions.measures import measured
from synth.questions.outcome import Outcome, Status
from synth.questions.problem import Problem
from synth.questions.statistics import Statistics
from synth.simulator import check
from synth.spec.classes import Columns
from synth.words import counted


def recall_census(store: Store, ledger: Ledger, *, boxes: bool = True) -> int:
    """Let a census start from what a store knows of each class.

    Args:
        store: the store.
        ledger: what the census knows; nothing where its classes are too many to list.
        boxes: whether boxes count that the store knows to hold no layout; not where proofs are
            wanted.

    Returns:
        How many layouts were taken.
    """
    asked, taken = ledger.asked, 0
    for columns in asked.counted or ():
        problem = asked.problem_of(columns)
        for match in matches(store, problem):
            place = _place(ledger, match.layout, match.verdict.delay)
            if place is not None and columns not in ledger.found.get(place, {}):
                delay = match.verdict.delay
                assert delay is not None
                layout = match.layout.replace(name=None, made_for=problem.made_for(delay))
                ledger.note_found(place, Found(columns, layout, delay, 0.0))
                taken += 1
        if boxes:
            for answer in store.recall_boxes(problem):
                for candidate in asked.candidates:
                    if answer.question.covers(candidate):
                        ledger.note_refuted(candidate, columns)
    return taken


def _place(ledger: Ledger, layout: Layout, delay: int | None) -> BoxQuestion | None:
    """The first box of a census in which a layout is an answer."""
    for candidate in ledger.asked.candidates:
        most = candidate.parts
        if (
            candidate.size == layout.size
            and delay is not None
            and delay <= candidate.delay
            and (most is None or layout.part_count <= most)
        ):
            return candidate
    return None


def keep_census(store: Store, ledger: Ledger, solver: str, seed: int) -> int:
    """Keep what a census knows.

    Returns:
        How many answers say more than the store said before.

    Raises:
        InputError: if an answer contradicts a decided one that is kept.
    """
    asked, places, smallest = ledger.asked, ledger.places(), ledger.smallest()
    missing = set(ledger.without_layout() or ())
    kept = 0
    with store.writing():
        for columns in asked.counted if asked.counted is not None else places:
            place = places.get(columns)
            found = None if place is None else ledger.found[place][columns]
            ruled_out = list(_ruled_out(ledger, columns))
            for problem, order in _orders(asked, columns):
                answers = [BoxAnswer(candidate, None) for candidate in ruled_out]
                store.keep_boxes(problem, answers)
                outcome = None
                if found is not None:
                    layout = _in_order(asked, found.layout, order)
                    sure = columns in smallest and asked.box is None
                    outcome = _found(problem, layout, sure=sure, boxes=len(ruled_out))
                elif columns in missing and asked.box is None:
                    outcome = _impossible(problem, boxes=len(ruled_out))
                if outcome is not None:
                    made = replace(outcome, stats=Statistics(solver=solver, seed=seed))
                    kept += store.keep(problem, made)
    return kept


def _ruled_out(ledger: Ledger, columns: Columns) -> Iterator[BoxQuestion]:
    """The boxes known to hold no layout of a class."""
    for candidate in ledger.order:
        complete = ledger.completed(candidate)
        here = ledger.found.get(candidate, {})
        refuted = columns in ledger.refuted.get(candidate, ())
        if refuted or (complete is not None and columns not in (*complete.without, *here)):
            yield candidate


def _orders(asked: CensusQuestion, columns: Columns) -> Iterator[tuple[Problem, tuple[int, ...]]]:
    """The problem of a class in each order of its outputs that makes another one."""
    seen = set()
    for order in permutations(range(len(columns))):
        ordered = tuple(columns[old] for old in order)
        if ordered not in seen:
            seen.add(ordered)
            yield asked.problem_of(ordered), order


def _in_order(asked: CensusQuestion, layout: Layout, order: tuple[int, ...]) -> Layout:
    """A layout with its outputs named in another order."""
    outputs = tuple(asked.problem.spec.function.outputs)
    names = {outputs[old]: outputs[new] for new, old in enumerate(order)}
    pins = [replace(pin, name=names.get(pin.name, pin.name)) for pin in layout.pins]
    pins.sort(key=lambda pin: asked.problem.spec.pin_names.index(pin.name))
    return layout.replace(pins=tuple(pins))


def _found(problem: Problem, layout: Layout, *, sure: bool, boxes: int) -> Outcome:
    delay = problem.limits.delay
    verdict = check(layout, problem.spec, delay=delay, rules=problem.rules)
    if not sure:
        reason = f"found by a census, under {limits_text(problem)}; smaller boxes are open"
        return Outcome(Status.UNDECIDED, layout, verdict, reason, measures=problem.measures)
    values = ", then ".join(
        f"{name} {measured(layout, verdict.delay, name)}" for name in problem.measures
    )
    claim = f"smallest by {values}, {_under(problem, boxes)}"
    return Outcome(Status.FOUND, layout, verdict, claim=claim, measures=problem.measures)


def _impossible(problem: Problem, *, boxes: int) -> Outcome:
    reason = f"no layout {_under(problem, boxes)}"
    return Outcome(Status.IMPOSSIBLE, reason=reason, measures=problem.measures)


def _under(problem: Problem, boxes: int) -> str:
    """Limits, what shows it, and the medium: what every claim names."""
    shown = f"a census ruled out {counted(boxes, 'box')}"
    return f"under {limits_text(problem)}: {shown}; {medium_text(problem)}"
