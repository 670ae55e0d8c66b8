"""Clauses that follow from the rules: they exclude no layout and make the search shorter.

The *exact play* of a layout has the largest sure set and the smallest possible set that section 5
allows. It satisfies all other rules, so whatever holds in every exact play may be added as a
clause.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property
from itertools import product

from synth.encoding.formula import Formula
from synth.encoding.question import Play, Question
from synth.encoding.rails import RAILS, Rails
from synth.encoding.statics import Statics
from synth.medium import LEVEL_DIRECTIONS


@dataclass(frozen=True)
class Moment:
    """Every signal of one rail of a play at a tick, in the same order for all plays and ticks."""

    wires: list[int]
    solids: list[int]
    inverters: list[int]
    buffers: list[int]


class Implied:
    """States clauses that follow from the rules."""

    def __init__(self, formula: Formula, question: Question, statics: Statics, rails: Rails):
        self.formula = formula
        self.question = question
        self.statics = statics
        self.rails = rails
        self._moments: dict[tuple[str, int, int], Moment] = {}

    def state(self) -> None:
        """State those that the question wants."""
        if self.question.monotone:
            for play in self.question.every_play:
                for tick in self.question.own_ticks(play):
                    self.what_is_sure_is_possible(play, tick)
        if self.question.known:
            for play in (*self.question.all_plays, *self.question.waiting):
                for tick in self.question.own_ticks(play):
                    self.what_is_known_stays_known(play, tick)
        if self.question.compared:
            self.more_inputs_give_more()
            self.the_neighbour_knows_less()

    def what_is_sure_is_possible(self, play: Play, tick: int) -> None:
        """Section 5: in the exact play what is surely on is possibly on.

        Where only one of the rails is stated at the last tick, it is compared with the other rail
        one tick earlier (``what_is_known_stays_known`` says why it may be).
        """
        rule, before = "surely on implies possibly on", tick - 1
        surely, possibly = (self.moment(rail, play, tick) for rail in RAILS)
        if before in self.question.own_ticks(play):
            surely = surely or self.moment("surely", play, before)
            possibly = possibly or self.moment("possibly", play, before)
        self._on_as_well(rule, surely, possibly)

    def what_is_known_stays_known(self, play: Play, tick: int) -> None:
        """Section 5: while inputs stand still, what is surely on at a tick is so at the next one,
        and what is possibly on at the next tick is so at this one.

        By induction: at tick 0 nothing is sure of inverters and buffers and everything possible.
        More that is sure and less that is possible at one tick makes more sure and less possible
        at the next. It gains nothing at 2 ticks, and more with every further tick.
        """
        rule, after = "what is known stays known", tick + 1
        if after not in self.question.own_ticks(play):
            return
        sure, sure_after = (self.moment("surely", play, t) for t in (tick, after))
        possible, possible_after = (self.moment("possibly", play, t) for t in (tick, after))
        self._on_as_well(rule, sure, sure_after)
        self._on_as_well(rule, possible_after, possible)

    def more_inputs_give_more(self) -> None:
        """Each row compared with the next larger rows asked: those that have more inputs on.

        Nothing is known of the past at tick 0, so no inverter or buffer depends on the inputs yet.
        Wires and solids only add up what reaches them, so with more inputs on, whatever was on at
        tick 0 is still on, surely and possibly. (No clause is needed for that where tick 0 is put
        together from parts.) At tick 1 a buffer has seen tick 0, so the same holds of it, and the
        contrary of an inverter. (It does not hold of a held buffer, which only tests admit.)
        """
        for (less, more), rail in product(self._next_to_each_other(), RAILS):
            if not self.question.parts_of_tick_0:
                lower, upper = (self.moment(rail, play, 0) for play in (less, more))
                self._on_as_well("more inputs power more", lower, upper)
            if self.question.delay == 0:
                continue
            lower, upper = (self.moment(rail, play, 1) for play in (less, more))
            if lower is None or upper is None:
                continue
            rule = "more inputs leave fewer inverters on"
            self._each(rule, upper.inverters, lower.inverters)
            if not self.question.allow_held:
                rule = "more inputs turn on more buffers"
                self._each(rule, lower.buffers, upper.buffers)

    def _next_to_each_other(self) -> Iterator[tuple[Play, Play]]:
        """Pairs of rows asked: what is on in one is on in the other, and no row lies between."""
        plays = self.question.plays
        for less in plays:
            above = [more for more in plays if less.on < more.on]
            for more in above:
                if not any(between.on < more.on for between in above):
                    yield less, more

    def the_neighbour_knows_less(self) -> None:
        """Rows compared with the neighbour in a stack. The neighbour is a play of the same layout,
        between neighbours of the same kind, and its inputs are unknown. With less known of the
        inputs, less is surely on and more is possibly on, at every tick.
        """
        neighbour = self.question.neighbour
        if neighbour is None:
            return
        for play in self.question.every_play:
            for tick in () if play is neighbour else self.question.own_ticks(play):
                sure, possible = (self.moment(rail, play, tick) for rail in RAILS)
                less, more = (self.moment(rail, neighbour, tick) for rail in RAILS)
                self._on_as_well("the neighbour has less surely on", less, sure)
                self._on_as_well("the neighbour has more possibly on", possible, more)

    def moment(self, rail: str, play: Play, tick: int) -> Moment | None:
        """Every signal of a rail of a play at a tick; None if the question does not play it."""
        if not self.question.reads(rail, play, tick):
            return None
        key = (rail, play.index, tick)
        if key not in self._moments:
            self._moments[key] = self._collected(rail, play, tick)
        return self._moments[key]

    def _collected(self, rail: str, play: Play, tick: int) -> Moment:
        now = self.rails.at(rail, play, tick)
        wires, solids, inverters, buffers = self._places[rail]
        if self.question.devices_alone(tick):
            wires, solids = [], []
        look_up = now.__getitem__
        return Moment(*(list(map(look_up, part)) for part in (wires, solids, inverters, buffers)))

    @cached_property
    def _places(self) -> dict[str, tuple[list[int], list[int], list[int], list[int]]]:
        """By rail, the places of a ``Moment``, in its order."""
        found, cells = {}, self.statics.cells
        for rail, places in self.rails.places.items():
            found[rail] = (
                [places.wire(node) for node in self.rails.shape.nodes()],
                [places.power(family, cell) for cell in cells for family in ("charged", "driven")],
                [places.power("inverter", cell) for cell in cells],
                [places.buffer(cell, to) for cell in cells for to in LEVEL_DIRECTIONS],
            )
        return found

    def _on_as_well(self, rule: str, lower: Moment | None, upper: Moment | None) -> None:
        """What is on at one moment is on at the other, as far as both are played."""
        if lower is None or upper is None:
            return
        if lower.wires and upper.wires:
            self._each(rule, lower.wires, upper.wires)
        if lower.solids and upper.solids:
            self._each(rule, lower.solids, upper.solids)
        self._each(rule, lower.inverters, upper.inverters)
        self._each(rule, lower.buffers, upper.buffers)

    def _each(self, rule: str, causes: list[int], effects: list[int]) -> None:
        for cause, effect in zip(causes, effects, strict=True):
            if cause != effect:
                self.formula.add(rule, (-cause, effect))
