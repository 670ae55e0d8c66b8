"""Halves of a cut asked whole: for anything that works, and not for the signals of known networks.

A half of a function is often small enough for the whole question (``synth.encoding``), which knows
more ways than any network has: the second half of a full adder within 4 ticks, two outputs of three
signals within 2, has layouts in 4 x 2 x 6 cells. So a start is smaller, and made of denser parts,
than one whose networks were placed; and where shrinking gets stuck depends on what it began with.

At first the harder half is asked, the signals that cross where the solver likes, in smaller boxes
before larger ones; none that is larger than one with a layout is any use. Only boxes of the
greatest height are asked about: they hold the lower ones.

After that the places where signals cross are fixed, one way after another. Both halves are
questions of their own then, a third as hard, and starts differ in what matters to shrinking: where
nothing crosses at the top, a layer may go. Most places are soon ruled out, and not tried again; the
others are tried again by other seeds. The easier half comes first: where it has no layout, the
harder one need not be asked.
"""

from __future__ import annotations

import math
import random
from collections import deque
from collections.abc import Callable, Iterable, Iterator, Sequence
from itertools import count, product
from typing import NamedTuple

from synth.encoding import Question
from synth.encoding.placing.signals import Signals
from synth.layout import Layout
from synth.medium import Direction, Size
from synth.questions.formula_size import expected_clauses
from synth.search.placing.halves import (
    Halves,
    cannot_be_placed,
    first_then_second,
    second_then_first,
    stages_of,
    together,
)
from synth.search.placing.placer import Placer, Stage
from synth.search.placing.stages import Cut, first_spec, joined, second_spec
from synth.search.placing.turns import Tries, counted, share_of_round
from synth.search.workers.solvers import DEFAULT_SOLVER
from synth.spec import Spec

SHARE = 300_000
"""The conflicts of one question in a cheap round: of those about 4 x 2 x 6 cells most are decided
within half of it, some seconds.
"""

MOST_CLAUSES = 250_000
"""Questions that are expected to have more are not asked: they take minutes."""

ROOM_HARD = range(8, 13)
"""Cells for each inverter that the harder half is known to need: in fewer it has hardly a place."""

ROOM_OTHER = range(6, 15)
"""The same for the other half, whose question is easier."""

MOST_PLACES = 48
"""In how many ways signals may cross between two boxes; of more so many are drawn."""

UNTRIED, TRIED = 2, 4
"""How many fixed places are tried after each question with places left open: those for the first
time, and those that are not ruled out.
"""

APART = 2
"""Cells between the heights of two signals that cross by wires (section 6)."""

Places = tuple[tuple[int, int], ...]
"""Across and height of each signal that crosses."""


class Asker(Placer):
    """Asks whole questions in place of placing signals, and remembers what came of it."""

    solver = DEFAULT_SOLVER

    def asked_of(self, stage: Stage) -> Sequence[Signals | None]:
        """One question: anything may work."""
        return (None,)


class _Pair(NamedTuple):
    """A cut, which half is harder (0 or 1), its box and those of the other half."""

    cut: Cut
    hard: int
    size: Size
    others: tuple[Size, ...]

    @property
    def volume(self) -> int:
        """Of the box of the harder half."""
        return math.prod(self.size)

    @property
    def halves(self) -> Halves:
        """The halves, with their boxes."""
        own = (self.size,)
        return Halves(self.cut, (self.others, own) if self.hard else (own, self.others))

    def tries(self, asker: Asker, share: int, seed: int) -> Tries:
        """The harder half, the signals that cross where the solver likes, then the other one."""
        way = second_then_first if self.hard else first_then_second
        return way(asker, self.halves, share, (seed, seed))


class _Plan(NamedTuple):
    """A pair, and where signals cross."""

    pair: _Pair
    places: Places

    def tries(self, asker: Asker, share: int, seed: int) -> Tries:
        """Both halves, the easier one first, and joined."""
        pair, halves = self.pair, dict[int, Layout]()
        stages = stages_of(pair.cut)
        for half in (1 - pair.hard, pair.hard):
            beside = pair.size if half != pair.hard else halves[1 - half].size
            boxes = pair.halves.boxes[half]
            of_use = [size for size in boxes if asker.has_room(together(beside, size))]
            spec_for = self._spec_for(asker, half)
            found = yield from asker.placed(spec_for, stages[half], of_use, share, seed)
            if found is None:
                return None
            halves[half] = found
        return joined(asker.problem.spec, pair.cut, halves[0], halves[1])

    def is_in_vain(self, asker: Asker) -> bool:
        """Whether it is known that a half has no layout where signals cross like that."""
        for half, stage in enumerate(stages_of(self.pair.cut)):
            spec_for = self._spec_for(asker, half)
            boxes = self.pair.halves.boxes[half]
            if all(asker.is_ruled_out(spec_for(size), stage, size) for size in boxes):
                return True
        return False

    def _spec_for(self, asker: Asker, half: int) -> Callable[[Size], Spec]:
        """What is asked of a half in a box."""
        spec, cut = asker.problem.spec, self.pair.cut
        places = dict(zip(cut.crossing, self.places, strict=True))
        if half:
            return lambda _: second_spec(spec, cut, places)
        return lambda size: first_spec(spec, cut, places, size[0])


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
        seed: of the order of places, and of the solver's.
    """
    generator, seeds = random.Random(seed), count(seed)
    pairs = [pair for cut in cuts for pair in _pairs(asker, cut, boxes_of)]
    pairs.sort(key=lambda pair: pair.volume)  # Of equal ones, those that connect least come first.
    untried: deque[_Plan] = deque()
    tried: deque[_Plan] = deque()
    known: set[_Pair] = set()
    smallest = math.inf
    for number in count(1):
        share, asked_any = SHARE * share_of_round(number), False
        for pair in pairs:
            if pair.volume > smallest:
                break
            ahead: list[_Pair | _Plan] = []
            if (untried or pair not in known) and not cannot_be_placed(asker, pair.halves):
                ahead.append(pair)
            ahead += [untried.popleft() for _ in range(min(UNTRIED, len(untried)))]
            ahead += [tried.popleft() for _ in range(min(TRIED, len(tried)))]
            for one in ahead:
                tries = one.tries(asker, share, next(seeds))
                found, questions = yield from counted(tries)
                asked_any = asked_any or questions > 0
                if isinstance(one, _Plan) and not one.is_in_vain(asker):
                    tried.append(one)
                if found is None:
                    continue
                yield found
                if isinstance(one, _Pair) and one not in known:
                    known.add(one)
                    if one.volume < smallest:
                        smallest = one.volume
                        untried.clear()
                        tried.clear()
                    untried.extend(_plans(asker.problem.spec, one, generator))
        if not asked_any:
            return


def _pairs(
    asker: Asker, cut: Cut, boxes_of: Callable[[Stage, Iterable[int]], tuple[Size, ...]]
) -> Iterator[_Pair]:
    """What to ask about a cut; nothing if a half is too hard."""
    stages, spec = stages_of(cut), asker.problem.spec
    hard = int(cut.connections[1] >= cut.connections[0])
    own = second_spec(spec, cut) if hard else first_spec(spec, cut)
    sizes = boxes_of(stages[hard], ROOM_HARD)
    highest = max((size[2] for size in sizes), default=0)
    others = sorted(boxes_of(stages[1 - hard], ROOM_OTHER), key=math.prod)
    for size in sizes:
        expected = expected_clauses(Question(own, size, stages[hard].delay))
        fitting = tuple(
            other for other in others if other[2] == highest and math.prod(other) <= math.prod(size)
        )
        if size[2] == highest and fitting and expected <= MOST_CLAUSES:
            yield _Pair(cut, hard, size, fitting)


def _plans(spec: Spec, pair: _Pair, generator: random.Random) -> list[_Plan]:
    """A pair with each way in which signals may cross, in any order."""
    ways = _crossings(spec, pair.cut, pair.size)
    return [_Plan(pair, places) for places in generator.sample(ways, min(MOST_PLACES, len(ways)))]


def _crossings(spec: Spec, cut: Cut, size: Size) -> list[Places]:
    """Where the signals of a cut may cross; of two mirror images across the box only one."""
    spots = list(product(range(size[1]), range(0 if spec.ground else 1, size[2])))
    faces = [spec.faces(name) for name in spec.pin_names]
    if all((Direction.PY in own) == (Direction.NY in own) for own in faces):
        firsts = [spot for spot in spots if 2 * spot[0] < size[1]]
    else:
        firsts = spots
    return [
        places
        for places in product(firsts, *[spots] * (len(cut.crossing) - 1))
        if all(_keep_apart(one, other) for at, one in enumerate(places) for other in places[:at])
    ]


def _keep_apart(one: tuple[int, int], other: tuple[int, int]) -> bool:
    """Section 6: wire joints in lanes beside each other lie as far apart as in one lane."""
    return abs(one[0] - other[0]) >= APART or abs(one[1] - other[1]) >= APART
