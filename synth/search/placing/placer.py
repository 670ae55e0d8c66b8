"""Places stages in boxes, one question after another, and asks nothing twice."""

from __future__ import annotations

import time
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, field
from typing import ClassVar

from synth.encoding import Question
from synth.encoding.placing.signals import Signals, without_repeats
from synth.layout import Layout
from synth.medium import Size
from synth.questions.problem import Problem
from synth.search.placing.networks import Network, networks, ticks_of_network
from synth.search.placing.pools import pools
from synth.search.placing.turns import Tries
from synth.search.workers.solvers import PLACING_SOLVER
from synth.search.workers.task import Task, answer
from synth.spec import BooleanFunction, Spec

LOOK_S = 10.0
"""Seconds after which no further networks are looked for."""

_Key = tuple[object, ...]


@dataclass(frozen=True, slots=True)
class Stage:
    """A part of a function to be placed: what its boxes and signals follow from."""

    function: BooleanFunction
    delay: int


def _key(stage: Stage, size: Size, number: int, spec: Spec) -> _Key:
    """What a question follows from: stage, box, which signals, and where its pins may be."""
    places = tuple((name, ask.faces, ask.at) for name, ask in spec.pins.items())
    return (stage, size, number, places)


@dataclass
class Placer:
    """Places stages, and remembers what came of it.

    Attributes:
        problem: what is asked of the whole.
        has_room: whether a box is of use; asked anew for each.
        solver: what it asks.
    """

    problem: Problem
    has_room: Callable[[Size], bool]
    solver: ClassVar[str] = PLACING_SOLVER
    _refuted: set[_Key] = field(default_factory=set, init=False)
    _known: dict[tuple[_Key, int], Layout] = field(default_factory=dict, init=False)
    _undecided: dict[tuple[_Key, int], int] = field(default_factory=dict, init=False)
    _networks: dict[Stage, list[Network]] = field(default_factory=dict, init=False)
    _signals: dict[Stage, list[Signals]] = field(default_factory=dict, init=False)

    def placed(
        self,
        spec_for: Callable[[Size], Spec],
        stage: Stage,
        boxes: Iterable[Size],
        share: int,
        seed: int,
        fits: Callable[[Layout], bool] = lambda layout: True,
    ) -> Tries:
        """A stage in the first of some boxes in which it can be placed.

        Args:
            spec_for: what is asked of the stage in a box.
            stage: what is placed.
            boxes: where, in order.
            share: the conflicts of each question.
            seed: of the solver's order.
            fits: whether what is placed is of use.
        """
        for size in filter(self.has_room, boxes):
            spec = spec_for(size)
            question = Question(spec, size, stage.delay, rules=self.problem.rules)
            for number, signals in enumerate(self.asked_of(stage)):
                key = _key(stage, size, number, spec)
                if key in self._refuted:
                    continue
                known = self._known.get((key, seed))
                if known is not None:
                    return known
                if self._undecided.get((key, seed), 0) >= share:
                    continue
                reply = answer(Task(question, self.solver, seed, signals=signals, conflicts=share))
                yield
                if reply.layout is not None and fits(reply.layout):
                    self._known[key, seed] = reply.layout
                    return reply.layout
                if reply.answer in ("unplaced", "impossible"):
                    self._refuted.add(key)
                else:
                    self._undecided[key, seed] = share
        return None

    def is_ruled_out(self, spec: Spec, stage: Stage, size: Size) -> bool:
        """Whether it is known that nothing asked of a stage has a place in a box."""
        numbers = range(len(self.asked_of(stage)))
        return all(_key(stage, size, number, spec) in self._refuted for number in numbers)

    def asked_of(self, stage: Stage) -> Sequence[Signals | None]:
        """What is asked of a stage, one after the other: which signals to place."""
        return self.signals_of(stage)

    def networks_of(self, stage: Stage) -> list[Network]:
        """Networks of a stage, those with fewest inverters first."""
        if stage not in self._networks:
            until = time.monotonic() + LOOK_S
            ticks = ticks_of_network(self.problem.spec, stage.delay)
            self._networks[stage] = list(networks(stage.function, ticks, until=until))
        return self._networks[stage]

    def signals_of(self, stage: Stage) -> list[Signals]:
        """Sets of signals to place: without repeated ones first.

        In a chain every output of a link is what a buffer repeats.
        """
        if stage not in self._signals:
            chained = bool(self.problem.spec.chain)
            chosen = pools(self.networks_of(stage), stage.delay, chained=chained)[:2]
            bare = [] if chained else [without_repeats(signals) for signals in chosen[:1]]
            self._signals[stage] = [*bare, *chosen]
        return self._signals[stage]
