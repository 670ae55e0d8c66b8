"""Halves of a cut asked whole: for anything that works, and not for the signals of known networks.

A half of a function is often small enough for the whole question (``synth.encoding``), which knows
more ways than any network has: of a full adder within 4 ticks the second half, two outputs of three
signals within 2, has a layout in 4 x 2 x 6 cells, found in some 15 seconds. So a start is smaller,
and made of denser parts, than one whose networks were placed; and where shrinking gets stuck
depends on what it began with.

The harder half comes first, in boxes of about as much room as known layouts have; the other one has
to fit it, which is decided within seconds. A box without a layout of the harder half, wherever its
signals cross, is not asked about again. Each round gives every box a share of conflicts (those of
``turns.share_of_round``) and other seeds, for another layout of what has one.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Iterator, Sequence
from itertools import count, product
from typing import NamedTuple

from synth.encoding import Question
from synth.encoding.placing.signals import Signals
from synth.layout import Layout
from synth.medium import Size
from synth.questions.formula_size import expected_clauses
from synth.questions.problem import Problem
from synth.search.placing.halves import (
    Halves,
    cannot_be_placed,
    first_then_second,
    second_then_first,
    stages_of,
)
from synth.search.placing.placer import Placer, Stage
from synth.search.placing.stages import Cut, first_spec, second_spec
from synth.search.placing.turns import Tries, counted, share_of_round
from synth.search.workers.solvers import DEFAULT_SOLVER

SHARE = 300_000
"""The conflicts of one question in a cheap round: some twenty seconds, about as many as what was
found in 4 x 2 x 6 cells has taken.
"""

MOST_CLAUSES = 250_000
"""Questions that are expected to have more are not asked: they take minutes."""

ROOM_HARD = range(8, 13)
"""Cells for each inverter that the harder half is known to need: in fewer it has hardly a place."""

ROOM_OTHER = range(6, 15)
"""The same for the other half, whose question is easier."""

LAYOUTS = 3
"""Most layouts of the harder half in one box in a round, by other seeds."""

OTHERS = 2
"""Most layouts of the other half beside each of them: these cost a tenth as much."""


class Asker(Placer):
    """Asks whole questions in place of placing signals, and remembers what came of it."""

    def __init__(self, problem: Problem, has_room: Callable[[Size], bool]) -> None:
        super().__init__(problem, has_room)
        self.solver = DEFAULT_SOLVER

    def asked_of(self, stage: Stage) -> Sequence[Signals | None]:
        """One question: anything may work."""
        return (None,)


class _Plan(NamedTuple):
    """A box for the harder half and its volume, those of the other, and which comes first."""

    volume: int
    halves: Halves
    way: Callable[[Placer, Halves, int, tuple[int, int]], Tries]


def asked(
    asker: Asker,
    cuts: Sequence[Cut],
    boxes_of: Callable[[Stage, Iterable[int]], tuple[Size, ...]],
    seed: int,
) -> Iterator[Layout | None]:
    """A layout whenever both halves are found, and None after each question.

    Args:
        asker: asks.
        cuts: the ways to halve the function.
        boxes_of: the boxes of a stage with so many cells for each inverter.
        seed: of the solver's order.
    """
    plans = [plan for cut in cuts for plan in _plans(asker, cut, boxes_of)]
    plans.sort(key=lambda plan: plan.volume)  # Of equal ones, those that connect least come first.
    smallest = math.inf
    for number in count(1):
        share = SHARE * share_of_round(number)
        first = seed + number * LAYOUTS
        tried = False
        for plan in plans:
            for hard, other in product(range(first, first + LAYOUTS), range(OTHERS)):
                if plan.volume > smallest or cannot_be_placed(asker, plan.halves):
                    break
                seeds = (hard, hard + number * other)
                found, questions = yield from counted(plan.way(asker, plan.halves, share, seeds))
                tried = tried or questions > 0
                if found is None:
                    break
                smallest = min(plan.volume, smallest)
                yield found
        if not tried:
            return


def _plans(
    asker: Asker, cut: Cut, boxes_of: Callable[[Stage, Iterable[int]], tuple[Size, ...]]
) -> Iterator[_Plan]:
    """What to ask about a cut; nothing if a half is too hard."""
    stages, spec = stages_of(cut), asker.problem.spec
    hard = int(cut.connections[1] >= cut.connections[0])
    others = sorted(boxes_of(stages[1 - hard], ROOM_OTHER), key=math.prod)
    sizes = boxes_of(stages[hard], ROOM_HARD)
    highest = max((size[2] for size in sizes), default=0)
    for size in sizes:
        if size[2] < highest:
            continue  # A higher box holds what a lower one does.
        own = second_spec(spec, cut) if hard else first_spec(spec, cut)
        boxes = tuple(other for other in others if other[2] == size[2])
        if not boxes or expected_clauses(Question(own, size, stages[hard].delay)) > MOST_CLAUSES:
            continue
        if hard:
            yield _Plan(math.prod(size), Halves(cut, (boxes, (size,))), second_then_first)
        else:
            yield _Plan(math.prod(size), Halves(cut, ((size,), boxes)), first_then_second)
