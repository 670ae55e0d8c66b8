"""Clauses that follow from the rules: they remove no layout, and make the search shorter.

The *exact play* of a layout has the largest sure set and the smallest possible set that section 5
allows. It is a model of all other rules, so what holds in every exact play may be said outright.
"""

from __future__ import annotations

from collections.abc import Callable

from synth.encoding.formula import Formula
from synth.encoding.question import Play, Question
from synth.encoding.rails import Rails
from synth.encoding.statics import Statics
from synth.medium import LEVEL_DIRECTIONS


class Implied:
    """What it takes to speak of all signals of a play."""

    def __init__(self, formula: Formula, question: Question, statics: Statics, rails: Rails):
        self.formula = formula
        self.question = question
        self.statics = statics
        self.rails = rails

    def signals(self, play: Play, tick: int) -> list[tuple[int, int]]:
        """Every signal at a tick, surely and possibly on; in the same order for every play."""
        rails = self.rails
        wires = [
            (rails.wire("surely", play, node, tick), rails.wire("possibly", play, node, tick))
            for node in rails.shape.nodes()
        ]
        solids = [
            (
                rails.power("surely", family, play, cell, tick),
                rails.power("possibly", family, play, cell, tick),
            )
            for cell in self.statics.cells
            for family in ("charged", "driven")
        ]
        return [*wires, *solids, *self.inverters(play, tick), *self.buffers(play, tick)]

    def inverters(self, play: Play, tick: int) -> list[tuple[int, int]]:
        """The inverter of every cell."""
        rails = self.rails
        return [
            (
                rails.power("surely", "inverter", play, cell, tick),
                rails.power("possibly", "inverter", play, cell, tick),
            )
            for cell in self.statics.cells
        ]

    def buffers(self, play: Play, tick: int) -> list[tuple[int, int]]:
        """The buffers of every cell, one a direction."""
        rails = self.rails
        return [
            (
                rails.buffer("surely", play, cell, to, tick),
                rails.buffer("possibly", play, cell, to, tick),
            )
            for cell in self.statics.cells
            for to in LEVEL_DIRECTIONS
        ]


class Monotone(Implied):
    """What is known stays known (section 5).

    In the exact play the sure set grows and the possible set shrinks from tick to tick, and
    what is surely on is possibly on.
    """

    def state(self, play: Play, tick: int) -> None:
        """State the implied clauses of one tick and the tick after it."""
        for surely, possibly in self.signals(play, tick):
            self.formula.add("what is sure is possible", [-surely, possibly])
        if tick < self.question.delay:
            later = self.signals(play, tick + 1)
            for now, then in zip(self.signals(play, tick), later, strict=True):
                self.formula.add("what is sure stays sure", [-now[0], then[0]])
                self.formula.add("what is impossible stays so", [now[1], -then[1]])


class Compared(Implied):
    """What exact plays of the same layout say of each other.

    *More inputs on.* Of the past nothing is known at tick 0: whether an inverter or a buffer is on
    does not depend on the inputs. Wires and solids only add up what reaches them, so with more
    inputs on, whatever was on at tick 0 still is, surely and possibly. At tick 1 a buffer has seen
    tick 0, so the same holds of it, and of an inverter the contrary. (Not of a buffer
    that is held, which only tests admit.)

    *The neighbour* in a stack is a play of the same layout, beside neighbours of the same kind, of
    whose inputs nothing is known: whoever knows less is sure of less and thinks more possible, at
    every tick.
    """

    def state(self) -> None:
        """Compare every row with those that have one input more, and with the neighbour."""
        plays = self.question.plays
        for fewer in plays:
            for more in plays:
                if fewer.on < more.on and len(more.on) == len(fewer.on) + 1:
                    self._with_more_inputs(fewer, more)
        if self.question.neighbour is not None:
            for play in plays:
                for tick in self.question.ticks:
                    self._neighbour_knows_less(play, self.question.neighbour, tick)

    def _with_more_inputs(self, fewer: Play, more: Play) -> None:
        self._on_as_well("more is on with more inputs", self.signals, fewer, more, 0)
        if self.question.delay > 0:
            self._on_as_well("less is inverted with more inputs", self.inverters, more, fewer, 1)
        if self.question.delay > 0 and not self.question.allow_held:
            self._on_as_well("more is repeated with more inputs", self.buffers, fewer, more, 1)

    def _on_as_well(
        self,
        rule: str,
        of: Callable[[Play, int], list[tuple[int, int]]],
        one: Play,
        other: Play,
        tick: int,
    ) -> None:
        """What is on in one play is on in the other, on both rails."""
        for lower, upper in zip(of(one, tick), of(other, tick), strict=True):
            self.formula.add(rule, [-lower[0], upper[0]])
            self.formula.add(rule, [-lower[1], upper[1]])

    def _neighbour_knows_less(self, play: Play, neighbour: Play, tick: int) -> None:
        known = self.signals(play, tick)
        for (surely, possibly), less in zip(known, self.signals(neighbour, tick), strict=True):
            self.formula.add("the neighbour is sure of less", [-less[0], surely])
            self.formula.add("the neighbour thinks more possible", [-possibly, less[1]])
