"""Clauses that follow from the rules: they remove no layout, and make the search shorter.

The *exact play* of a layout has the largest sure set and the smallest possible set that section 5
allows. It is a model of all other rules, so what holds in every exact play may be said outright.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property

from synth.encoding.formula import Formula
from synth.encoding.question import Play, Question
from synth.encoding.rails import Rails
from synth.encoding.statics import Statics
from synth.medium import LEVEL_DIRECTIONS, Cell

Pair = tuple[int, int]
"""The literals of one thing: surely on, possibly on."""


@dataclass(frozen=True)
class Moment:
    """Every signal of one play at one tick, in the same order for all plays and ticks."""

    wires: list[Pair]
    solids: list[Pair]
    inverters: list[Pair]
    buffers: list[Pair]

    @cached_property
    def all(self) -> list[Pair]:
        """The whole of it."""
        return [*self.wires, *self.solids, *self.inverters, *self.buffers]


class Implied:
    """States clauses that follow from the rules."""

    def __init__(self, formula: Formula, question: Question, statics: Statics, rails: Rails):
        self.formula = formula
        self.question = question
        self.statics = statics
        self.rails = rails
        self._moments: dict[tuple[int, int], Moment] = {}

    def state(self) -> None:
        """State those that the question wants."""
        if self.question.monotone:
            for play in self.question.every_play:
                for tick in self.question.ticks_of(play):
                    self.what_is_known_stays_known(play, tick)
        if self.question.compared:
            self.more_inputs_give_more()
            self.the_neighbour_knows_less()

    def what_is_known_stays_known(self, play: Play, tick: int) -> None:
        """Section 5: in the exact play the sure set grows and the possible set shrinks from tick
        to tick, and what is surely on is possibly on.
        """
        signals = self.moment(play, tick).all
        for surely, possibly in signals:
            self._imply("what is sure is possible", surely, possibly)
        if tick + 1 in self.question.ticks_of(play):
            self._stays(signals, self.moment(play, tick + 1).all)
        if play.before is not None and tick == play.since > 0:
            self._stays(self.moment(play.before, tick - 1).all, signals)

    def _stays(self, earlier: list[Pair], later: list[Pair]) -> None:
        for now, then in zip(earlier, later, strict=True):
            self._imply("what is sure stays sure", now[0], then[0])
            self._imply("what is impossible stays so", then[1], now[1])

    def more_inputs_give_more(self) -> None:
        """Rows compared with those that have more inputs on, nothing asked in between.

        Of the past nothing is known at tick 0: whether an inverter or a buffer is on does not
        depend on the inputs. Wires and solids only add up what reaches them, so with more inputs
        on, whatever was on at tick 0 still is, surely and possibly. At tick 1 a buffer has seen
        tick 0, so the same holds of it, and of an inverter the contrary. (Not of a buffer that is
        held, which only tests admit.)
        """
        for less, more in self._next_to_each_other():
            lower, upper = self.moment(less, 0), self.moment(more, 0)
            self._on_as_well("more inputs power more", lower.all, upper.all)
            if self.question.delay == 0:
                continue
            lower, upper = self.moment(less, 1), self.moment(more, 1)
            rule = "more inputs leave fewer inverters on"
            self._on_as_well(rule, upper.inverters, lower.inverters)
            if not self.question.allow_held:
                rule = "more inputs turn on more buffers"
                self._on_as_well(rule, lower.buffers, upper.buffers)

    def _next_to_each_other(self) -> Iterator[tuple[Play, Play]]:
        """Pairs of rows asked: what is on in one is on in the other, and no row lies between."""
        plays = self.question.plays
        for less in plays:
            above = [more for more in plays if less.on < more.on]
            for more in above:
                if not any(between.on < more.on for between in above):
                    yield less, more

    def the_neighbour_knows_less(self) -> None:
        """Rows compared with the neighbour in a stack, which is a play of the same layout beside
        neighbours of the same kind, of whose inputs nothing is known: whoever knows less is sure
        of less and thinks more possible, at every tick.
        """
        neighbour = self.question.neighbour
        if neighbour is None:
            return
        for play in self.question.every_play:
            if play is neighbour:
                continue
            for tick in self.question.ticks_of(play):
                pairs = zip(
                    self.moment(play, tick).all, self.moment(neighbour, tick).all, strict=True
                )
                for (surely, possibly), less in pairs:
                    self._imply("the neighbour is sure of less", less[0], surely)
                    self._imply("the neighbour thinks more possible", possibly, less[1])

    def moment(self, play: Play, tick: int) -> Moment:
        """Every signal of a play at a tick."""
        key = (play.index, tick)
        if key not in self._moments:
            self._moments[key] = self._collected(play, tick)
        return self._moments[key]

    def _collected(self, play: Play, tick: int) -> Moment:
        surely, possibly = (self.rails.at(rail, play, tick) for rail in ("surely", "possibly"))
        cells = self.statics.cells

        def both(family: str, cell: Cell) -> Pair:
            return surely.power(family, cell), possibly.power(family, cell)

        return Moment(
            wires=[
                (
                    self.rails.wire("surely", play, node, tick),
                    self.rails.wire("possibly", play, node, tick),
                )
                for node in self.rails.shape.nodes()
            ],
            solids=[both(family, cell) for cell in cells for family in ("charged", "driven")],
            inverters=[both("inverter", cell) for cell in cells],
            buffers=[
                (surely.buffer(cell, to), possibly.buffer(cell, to))
                for cell in cells
                for to in LEVEL_DIRECTIONS
            ],
        )

    def _on_as_well(self, rule: str, lower: list[Pair], upper: list[Pair]) -> None:
        """What is on in one list is on in the other, on both rails."""
        for one, other in zip(lower, upper, strict=True):
            self._imply(rule, one[0], other[0])
            self._imply(rule, one[1], other[1])

    def _imply(self, rule: str, cause: int, effect: int) -> None:
        if cause != effect:
            self.formula.add(rule, (-cause, effect))
