"""What is said of a search when it is over: claims with everything they rest on."""

from __future__ import annotations

from dataclasses import fields
from typing import Any

from synth.layout.layout import show_size
from synth.questions.measures import Candidate, measured
from synth.search.walk.walk import Walk
from synth.search.workers.judged import Found
from synth.simulator.verdict import Verdict
from synth.spec import Limits


def stats(walk: Walk) -> dict[str, Any]:
    """Counts of a walk; keys in ``synth.search.walk.solve.solve``."""
    boxes = (candidate for candidate, parts in walk.impossible if parts is None)
    return {
        "questions": walk.questions,
        "boxes_ruled_out": sorted([*size, delay] for size, delay in boxes),
        "boxes_open": sorted([*size, delay] for size, delay in walk.open),
        "variables": walk.largest_formula[0],
        "clauses": walk.largest_formula[1],
        "solve_seconds": walk.solve_seconds,
        "solver": walk.settings.solver,
        "seed": walk.settings.seed,
    }


def bound(walk: Walk, measure: str, candidates: list[Candidate]) -> int | None:
    """The least value of a measure that is not ruled out; None for ``parts``, or if all is.

    Args:
        measure: the first of the measures that ``candidates`` are in the order of.
    """
    if measure == "parts":
        return None
    left = (item for item in candidates if walk.known(item, None) is not False)
    first = next(left, None)
    return None if first is None else first.measure(measure)


def smallest(
    walk: Walk,
    limits: Limits,
    measures: tuple[str, ...],
    candidates: list[Candidate],
    best: Found,
) -> str:
    """The claim beside a layout found: measure, limits, medium, and what shows it."""
    if len(candidates) == 1 and measures == ("volume",):
        return f"a layout in the one box and delay asked for; {_medium(walk)}"
    values = ", then ".join(
        f"{name} {measured(best.layout, best.verdict.delay, name)}" for name in measures
    )
    shown = _shown(walk, len(walk.used))
    return f"smallest by {values}, under {_limits(limits)}: {shown}; {_medium(walk)}"


def impossible(walk: Walk, limits: Limits) -> str:
    """The sentence that says that there is no layout."""
    return f"no layout under {_limits(limits)}: {_shown(walk, len(walk.used))}; {_medium(walk)}"


def progress(walk: Walk, measures: tuple[str, ...], candidates: list[Candidate]) -> str:
    """What is known of an undecided search: the bound proven, the best so far, what is open."""
    text = _bound(walk, measures[0], candidates)
    if not walk.open:
        return text
    undecided = "; ".join(
        f"{show_size(size)} within {delay} ticks ({reason})"
        for (size, delay), reason in sorted(walk.open.items())
    )
    return f"{text}; open: {undecided}"


def _bound(walk: Walk, measure: str, candidates: list[Candidate]) -> str:
    """The best value of the first measure that is not ruled out."""
    if measure == "parts":
        return _shown(walk, len(walk.impossible))
    lowest = bound(walk, measure, candidates)
    if lowest is None:
        return _shown(walk, len(walk.impossible))
    found = [measured(best.layout, best.verdict.delay, measure) for best in walk.found.values()]
    values = [value for value in found if value is not None]
    best = f", best so far {min(values)}" if values else ""
    return f"no layout of {measure} below {lowest}{best}: {_shown(walk, len(walk.impossible))}"


def refusal(verdict: Verdict) -> str:
    """Why the simulator rejects a layout, loudly."""
    faults = "; ".join(fault.text for fault in verdict.faults)
    return f"the simulator rejects the layout that the solver found: {faults}"


def _limits(limits: Limits) -> str:
    named = (
        f"{item.name} at most {getattr(limits, item.name)}"
        for item in fields(limits)
        if getattr(limits, item.name) is not None
    )
    return ", ".join(named) or "no limits"


def _shown(walk: Walk, count: int) -> str:
    """How many answers a sentence rests on."""
    questions = "question" if count == 1 else "questions"
    solver = walk.settings.solver
    kept = "no proof kept" if walk.settings.evidence is None else "proofs in the certificate"
    return f'{count} {questions} answered "no layout" by {solver} ({kept})'


def _medium(walk: Walk) -> str:
    """The medium a claim speaks of, and the layouts it leaves out."""
    rules = walk.settings.rules
    delays = ", ".join(str(delay) for delay in rules.buffer_delays)
    text = (
        f"among layouts of the medium with reach {rules.reach} and buffer delays {delays} in "
        "which no buffer holds another"
    )
    if walk.spec.stack is not None:
        text += " and no copy leans on another"
    return text
