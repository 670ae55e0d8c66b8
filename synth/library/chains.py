"""The questions of a recipe in chains, and the time that each is given.

Questions that differ only in their limits form a chain: they are about the same boxes.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field

from synth.library.canonical import Canonical
from synth.library.jobs import effort
from synth.library.recipe import Recipe
from synth.questions.problem import Problem

GROWTH = 4.0
"""The factor by which a question's time grows at each return, here and in the walk over boxes."""

PREPARED_TOLD = 5000
"""How many questions are prepared between two reports."""


@dataclass
class Chain:
    """Questions about the same boxes, in the order in which they are asked.

    Attributes:
        name: the name of the function, for people.
        questions: the questions: longest delay first, small limits first.
        effort: the effort of the first question.
        round, next: which share comes next, and for which question.
        next_beyond: beyond whose limits a layout is sought next, in the same round.
        failures: how often workers failed at each question, by its key.
        left: the keys of the questions that are given up.
        is_held: whether this build holds the chain in the store.
        held_by_others: whether another build held it when that was last looked up.
    """

    name: str
    questions: list[Canonical]
    effort: int
    round: int = 0
    next: int = 0
    next_beyond: int = 0
    failures: Counter[str] = field(default_factory=Counter)
    left: set[str] = field(default_factory=set)
    is_held: bool = False
    held_by_others: bool = False

    @property
    def box_key(self) -> str:
        """The key that all its questions share."""
        return self.questions[0].box_key


def chains_of(recipe: Recipe, told: Callable[[int], object] | None = None) -> list[Chain]:
    """The questions of a recipe in chains, the easiest first; no question occurs twice.

    Args:
        recipe: the recipe.
        told: called now and then with the number of questions prepared so far, because thousands
            take seconds.
    """
    prepared = 0
    found: dict[str, Chain] = {}
    met: set[str] = set()
    groups = []
    for name, specs in recipe.chains():
        first, _ = Canonical.of(Problem(specs[0], recipe.minimize))
        groups.append((name, [first, *(first.under(spec.limits) for spec in specs[1:])]))
        before, prepared = prepared, prepared + len(specs)
        if told is not None and before // PREPARED_TOLD < prepared // PREPARED_TOLD:
            told(prepared)
    for name, questions in sorted(groups, key=lambda group: _effort(group[1])):
        chain = found.setdefault(questions[0].box_key, Chain(name, [], _effort(questions)))
        chain.name = chain.name or name
        new = [asked for asked in questions if asked.key not in met]
        chain.questions += new
        met |= {asked.key for asked in new}
    return list(found.values())


def _effort(questions: list[Canonical]) -> int:
    limits = questions[0].spec.limits
    return effort(questions[0], (limits.length or 1, limits.width or 1, limits.height or 1))


def shares(first_s: float, most_s: float) -> list[float]:
    """The seconds a question gets in each round: four times as many each time, up to ``most_s``."""
    found = [first_s]
    while found[-1] < most_s:
        found.append(min(most_s, found[-1] * GROWTH))
    return found


def tried_before(each: Sequence[float], number: int) -> float:
    """The seconds of all rounds before one, and half of its own.

    A question that was tried longer than that in all has had this round's share.
    """
    return sum(each[:number]) + each[number] / 2
