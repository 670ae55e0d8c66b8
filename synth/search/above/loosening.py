"""Limits that a start breaks: which they are, which may be widened, and shrinking by these."""

from __future__ import annotations

from dataclasses import replace

from synth.layout import Layout
from synth.medium import Size
from synth.questions.box import BoxQuestion
from synth.questions.measures import LIMITED, measured
from synth.questions.problem import Problem
from synth.questions.room import SIDES, SPACE
from synth.shrinking.relay import Relay
from synth.shrinking.turns import Told
from synth.spec import Limits
from synth.spec.spec import MAX_SIZE


def loosened(problem: Problem, own: Limits, start: Layout) -> Limits:
    """The limits in force, those that were only assumed widened to what a start has.

    A start may be longer than any limit can say: then it has none.
    """
    wider: dict[str, int | None] = {}
    for name in LIMITED:
        asked = getattr(problem.limits, name)
        if asked is None or name == "delay" or getattr(own, name) is not None:
            continue
        value = measured(start, None, name)
        if value is not None and value > asked:
            wider[name] = None if name in SIDES and value > MAX_SIZE else value
    return replace(problem.limits, **wider)


def broken(size: Size, own: Limits) -> set[str]:
    """The limits of space that a box does not keep."""
    box = BoxQuestion(size, 0)
    asked = {name: getattr(own, name) for name in SPACE}
    return {name for name, most in asked.items() if most is not None and box.measure(name) > most}


def relay_for(
    start: Layout,
    problem: Problem,
    own: Limits,
    told: Told,
    *,
    deadline: float,
    seed: int,
    most_effort: int | None = None,
) -> Relay:
    """What shrinks starts up to as large as one, which is not entered yet; see ``Relay``."""
    return Relay(
        problem.spec.replace(limits=loosened(problem, own, start)),
        problem.measures,
        told,
        deadline=deadline,
        seed=seed,
        rules=problem.rules,
        most_effort=most_effort,
    )
