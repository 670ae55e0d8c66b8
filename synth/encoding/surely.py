"""The rail of what is surely on: nothing without a reason (sections 4 and 5).

All clauses are one-sided: what is surely on has a cause that is surely on. A model may call fewer
things sure than are: the safe side. How wires are powered through links is said in ``givers``.
"""

from __future__ import annotations

from functools import cached_property

from synth.encoding import causes
from synth.encoding.formula import FALSE, Formula
from synth.encoding.givers import Counted, Ordered
from synth.encoding.places import somewhere
from synth.encoding.question import Play
from synth.encoding.rails import Rails
from synth.encoding.shape import Node, Shape
from synth.encoding.sites import Sites
from synth.encoding.statics import Statics
from synth.medium import LEVEL_DIRECTIONS, Cell, Direction

RAIL = "surely"

_Way = tuple[int, int, Cell, Direction, int]
"""A way into a solid on its level: the wire beside it powered, that it runs there, where it lies
and towards what it runs, and the lead on that side powered."""


class Surely:
    """States the reasons of one play at one tick, and from tick to tick."""

    def __init__(self, formula: Formula, statics: Statics, shape: Shape, rails: Rails) -> None:
        self.formula = formula
        self.statics = statics
        self.shape = shape
        self.rails = rails
        self.places = rails.places[RAIL]
        self.sites = Sites(statics, rails.places, RAIL, "possibly")
        giving = Counted if rails.question.count_links else Ordered
        self.givers = giving(formula, shape, rails, self.sources)

    def state(self, play: Play, tick: int) -> None:
        """State every rule of what is surely on at a tick."""
        if not self.statics.question.devices_alone(tick):
            self.driven_solids_have_a_driver(play, tick)
            self.charged_solids_have_a_charger(play, tick)
            self.givers.state(play, tick)
        if tick > 0:
            self.inverters_follow_their_hosts(play, tick)
            self.buffers_follow_their_backs(play, tick)
            if self.statics.question.allow_held:
                self.held_buffers_stay_unknown(play, tick)

    def _add(self, rule: str, effect: int, reasons: list[int]) -> None:
        if effect != FALSE:
            self.formula.add(rule, [-effect, *reasons])

    def driven_solids_have_a_driver(self, play: Play, tick: int) -> None:
        """Section 4: a solid is driven by an inverter below or a buffer pointing into it.

        Medium: 4 driven.
        """
        rule, now = "4 driven", self.rails.at(RAIL, play, tick)
        for driven, solid, drivers in self.sites.driven:
            self._add(rule, now[driven], [solid])
            self._add(rule, now[driven], [now[one] for one in drivers])

    def charged_solids_have_a_charger(self, play: Play, tick: int) -> None:
        """Sections 4 and 6: a solid is charged when driven, or under or run into by a powered wire.

        A lead runs into the solid at its pin's cell.

        Medium: 4 charged; 6 leads give.
        """
        rule, now = "4 charged", self.rails.at(RAIL, play, tick)
        for charged, solid, sure, ways in self._charged:
            reasons = [now[one] for one in sure]
            for powered, runs, beside, towards, lead in ways:
                name = ("surely", "running", play.index, beside, towards, tick)
                reasons.append(self._both(name, now[powered], runs))
                reasons.append(now[lead])
            self._add(rule, now[charged], [solid])
            self._add(rule, now[charged], reasons)

    @cached_property
    def _charged(self) -> list[tuple[int, int, list[int], list[_Way]]]:
        """Of each cell: it charged, a solid there, what is enough, and the ways in on its level."""
        places, found = self.places, []
        for cell in self.statics.cells:
            sure = [places.power("driven", cell), places.power("wire", Direction.PZ.step(cell))]
            ways: list[_Way] = []
            for direction in LEVEL_DIRECTIONS:
                beside, towards = direction.step(cell), direction.opposite
                powered, runs = places.power("wire", beside), self.shape.runs(beside, towards)
                ways.append((powered, runs, beside, towards, places.lead(cell, direction)))
            charged = places.power("charged", cell)
            found.append((charged, self.statics.solid(cell), somewhere(sure), ways))
        return found

    def _both(self, name: tuple[object, ...], first: int, second: int) -> int:
        """A literal that needs both of two literals, or false if either is."""
        if FALSE in (first, second):
            return FALSE
        both = self.formula.declare(*name)
        self._add("4 charged", both, [first])
        self._add("4 charged", both, [second])
        return both

    def sources(self, play: Play, node: Node, tick: int) -> list[int]:
        """Section 4: what gives a wire or lead its full strength.

        Medium: 4 sources.
        """
        now = self.rails.at(RAIL, play, tick)
        return [now[one] for one in self._sources[node]]

    @cached_property
    def _sources(self) -> dict[Node, list[int]]:
        """By node, what gives it its full strength."""
        nodes = self.shape.nodes()
        return {node: somewhere(causes.sources(self.places, node)) for node in nodes}

    def inverters_follow_their_hosts(self, play: Play, tick: int) -> None:
        """Sections 4 and 5: surely on only if the host was not possibly charged.

        Medium: 4 inverter sees; 5 inverters settle.
        """
        rule, now = "5 inverters settle", self.rails.at(RAIL, play, tick)
        before = self.rails.instants("possibly", play, tick - 1)
        for on, there, hosts in self.sites.hosted:
            self._add(rule, now[on], [there])
            for hangs, host in hosts:
                for one in before:
                    self._add(rule, now[on], [-hangs, -one[host]])

    def buffers_follow_their_backs(self, play: Play, tick: int) -> None:
        """Section 5: surely on only if power was surely seen at all of t-k to t-1.

        Medium: 5 buffers settle.
        """
        rule, now = "5 buffers settle", self.rails.at(RAIL, play, tick)
        for cell, on, there, backs in self.sites.backed:
            if tick < self.rails.first_known_tick(RAIL, cell):
                continue
            self._add(rule, now[on], [there])
            for seen_at in range(tick - self.statics.delays[cell], tick):
                instants = self.rails.instants(RAIL, play, seen_at)
                self._add(rule, now[on], [one[back] for one in instants for back in backs])

    def held_buffers_stay_unknown(self, play: Play, tick: int) -> None:
        """Section 5: a buffer with a buffer pointing into its side is never surely on.

        Medium: 5 held settle.
        """
        for cell, to, holder in self.statics.holders():
            output = self.rails.buffer(RAIL, play, cell, to, tick)
            self._add("5 held settle", output, [-holder])
