"""The rail of what is possibly on: closed under every cause (sections 4 and 5).

All clauses are one-sided: a cause possibly on makes its effect possibly on. The least set that
is closed is the right one; a larger one only errs on the safe side.
"""

from __future__ import annotations

from collections.abc import Iterable
from functools import cached_property

from synth.encoding import causes
from synth.encoding.formula import FALSE, Formula
from synth.encoding.places import somewhere
from synth.encoding.question import Play
from synth.encoding.rails import Rails
from synth.encoding.shape import Shape
from synth.encoding.sites import Sites
from synth.encoding.statics import Statics
from synth.medium import LEVEL_DIRECTIONS, Direction

RAIL = "possibly"


class Possibly:
    """States the closure of one play at one tick, and from tick to tick."""

    def __init__(self, formula: Formula, statics: Statics, shape: Shape, rails: Rails) -> None:
        self.formula = formula
        self.statics = statics
        self.shape = shape
        self.rails = rails
        self.places = rails.places[RAIL]
        self.sites = Sites(statics, rails.places, RAIL, "surely")

    def state(self, play: Play, tick: int) -> None:
        """State every rule of what is possibly on at a tick."""
        if not self.statics.question.devices_alone(tick):
            self.inverters_and_buffers_drive_solids(play, tick)
            self.wires_charge_solids(play, tick)
            self.sources_power_wires(play, tick)
            self.sources_light_leads(play, tick)
            self.links_pass_strength(play, tick)
        if tick > 0:
            self.inverters_follow_their_hosts(play, tick)
            self.buffers_follow_their_backs(play, tick)
            if self.statics.question.allow_held:
                self.held_buffers_stay_unknown(play, tick)

    def _add(self, rule: str, causes: list[int], effect: int) -> None:
        if FALSE not in causes:
            self.formula.imply(rule, causes, effect)

    def _each(self, rule: str, present: int, causes: Iterable[int], effect: int) -> None:
        """Each cause has its effect where something is present."""
        for cause in causes:
            if cause != FALSE:
                self.formula.add(rule, [-present, -cause, effect])

    def inverters_and_buffers_drive_solids(self, play: Play, tick: int) -> None:
        """Section 4: a solid is driven by an inverter below or a buffer pointing into it.

        Medium: 4 driven.
        """
        now = self.rails.at(RAIL, play, tick)
        for driven, solid, drivers in self.sites.driven:
            self._each("4 driven", solid, map(now.__getitem__, drivers), now[driven])

    def wires_charge_solids(self, play: Play, tick: int) -> None:
        """Sections 4 and 6: a solid is charged when driven, or under or run into by a powered wire.

        A lead runs into the solid at its pin's cell.

        Medium: 4 charged; 6 leads give.
        """
        rule, now = "4 charged", self.rails.at(RAIL, play, tick)
        for charged, solid, driven, above, ways in self._charged:
            effect = now[charged]
            self._add(rule, [now[driven]], effect)
            self._add(rule, [solid, now[above]], effect)
            for powered, runs, lead in ways:
                self._add(rule, [solid, now[powered], runs], effect)
                self._add("6 leads give", [solid, now[lead]], effect)

    @cached_property
    def _charged(self) -> list[tuple[int, int, int, int, list[tuple[int, int, int]]]]:
        """Of each cell: it charged, a solid there, it driven, the wire above, and for each way in
        on its level the wire there, that it runs here, and the lead."""
        places, geometry, found = self.places, self.statics.geometry, []
        for cell in self.statics.cells:
            ways = []
            for direction in LEVEL_DIRECTIONS:
                beside = direction.step(cell)
                # The same wire runs in every copy.
                owner = geometry.in_other_copy(beside) or beside
                runs = self.shape.runs(owner, direction.opposite)
                ways.append((places.power("wire", beside), runs, places.lead(cell, direction)))
            charged, driven = (places.power(family, cell) for family in ("charged", "driven"))
            above = places.power("wire", Direction.PZ.step(cell))
            found.append((charged, self.statics.solid(cell), driven, above, ways))
        return found

    def sources_power_wires(self, play: Play, tick: int) -> None:
        """Section 4: what gives a wire its full strength.

        Medium: 4 sources.
        """
        now = self.rails.at(RAIL, play, tick)
        for powered, wire, sources in self._powered:
            self._each("4 sources", wire, map(now.__getitem__, sources), now[powered])

    @cached_property
    def _powered(self) -> list[tuple[int, int, list[int]]]:
        """Of each cell that may hold a wire: it powered, a wire there, and what powers it."""
        return [
            (
                self.places.power("wire", cell),
                self.statics.wire(cell),
                somewhere(causes.sources(self.places, cell)),
            )
            for cell in self.statics.cells
            if self.statics.wire(cell) != FALSE
        ]

    def sources_light_leads(self, play: Play, tick: int) -> None:
        """Section 6: what at the pin's cell powers a lead, and the input itself.

        Medium: 6 leads receive; 6 input leads.
        """
        now = self.rails.at(RAIL, play, tick)
        for powered, lead, received, given in self._leads:
            self._each("6 leads receive", lead, map(now.__getitem__, received), now[powered])
            self._add("6 input leads", [now[given]], now[powered])

    @cached_property
    def _leads(self) -> list[tuple[int, int, list[int], int]]:
        """Of each slot that may hold a lead: it powered, a lead there, what at the pin's cell
        powers it, and its input on."""
        found = []
        for slot in self.statics.names_at:
            lead = self.statics.lead(*slot)
            if lead != FALSE:
                *received, given = causes.sources(self.places, slot)
                found.append((self.places.wire(slot), lead, received, given))
        return found

    def links_pass_strength(self, play: Play, tick: int) -> None:
        """Section 5: links pass what is possibly on without loss.

        Medium: 5 without loss.
        """
        rule, now = "5 without loss", self.rails.at(RAIL, play, tick)
        for literal, source, target in self._links:
            self._add(rule, [literal, now[source]], now[target])

    @cached_property
    def _links(self) -> list[tuple[int, int, int]]:
        """Of each link: that it is there, and both its wires powered."""
        wire = self.places.wire
        return [(link.literal, wire(link.source), wire(link.target)) for link in self.shape.links]

    def inverters_follow_their_hosts(self, play: Play, tick: int) -> None:
        """Sections 4 and 5: possibly on unless the host was surely charged.

        Medium: 4 inverter sees; 5 inverters settle.
        """
        rule, now = "5 inverters settle", self.rails.at(RAIL, play, tick)
        before = self.rails.instants("surely", play, tick - 1)
        for on, _, hosts in self.sites.hosted:
            for hangs, host in hosts:
                self._add(rule, [hangs, *(-one[host] for one in before)], now[on])

    def buffers_follow_their_backs(self, play: Play, tick: int) -> None:
        """Section 5: possibly on if power was possibly seen at t-(2k-1) to t-1.

        Medium: 5 buffers settle.
        """
        rule, now = "5 buffers settle", self.rails.at(RAIL, play, tick)
        for cell, on, there, backs in self.sites.backed:
            if tick < self.rails.first_known_tick(RAIL, cell):
                continue
            window = 2 * self.statics.delays[cell] - 1
            for seen_at in range(tick - window, tick):
                for one in self.rails.instants(RAIL, play, seen_at):
                    self._each(rule, there, [one[back] for back in backs], now[on])

    def held_buffers_stay_unknown(self, play: Play, tick: int) -> None:
        """Section 5: a buffer with a buffer pointing into its side is possibly on.

        Medium: 5 held settle.
        """
        for cell, to, holder in self.statics.holders():
            output = self.rails.buffer(RAIL, play, cell, to, tick)
            buffer = self.statics.buffer(cell, to)
            self._add("5 held settle", [buffer, holder], output)
