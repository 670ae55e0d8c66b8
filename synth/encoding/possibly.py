"""The rail of what is possibly on: closed under every cause (sections 4 and 5).

All clauses are one-sided: a cause possibly on makes its effect possibly on. The least set that
is closed is the right one; a larger one only errs on the safe side.
"""

from __future__ import annotations

from synth.encoding import causes
from synth.encoding.formula import FALSE, Formula
from synth.encoding.geometry import Slot
from synth.encoding.question import Play
from synth.encoding.rails import Rails
from synth.encoding.shape import Shape
from synth.encoding.statics import Statics
from synth.medium import ALL_DIRECTIONS, HOST_DIRECTIONS, LEVEL_DIRECTIONS, Direction, Joint

RAIL = "possibly"


class Possibly:
    """States the closure of one play at one tick, and from tick to tick."""

    def __init__(self, formula: Formula, statics: Statics, shape: Shape, rails: Rails) -> None:
        self.formula = formula
        self.statics = statics
        self.shape = shape
        self.rails = rails

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

    def inverters_and_buffers_drive_solids(self, play: Play, tick: int) -> None:
        """Section 4: a solid is driven by an inverter below or a buffer pointing into it.

        Medium: 4 driven.
        """
        rule = "4 driven"
        for cell in self.statics.cells:
            solid = self.statics.solid(cell)
            driven = self.rails.power(RAIL, "driven", play, cell, tick)
            below = self.rails.power(RAIL, "inverter", play, Direction.NZ.step(cell), tick)
            self._add(rule, [solid, below], driven)
            for direction in LEVEL_DIRECTIONS:
                beside = direction.step(cell)
                into = self.rails.buffer(RAIL, play, beside, direction.opposite, tick)
                self._add(rule, [solid, into], driven)
                outside = self.rails.input_on(RAIL, Joint.BUFFER, play, cell, direction)
                self._add(rule, [solid, outside], driven)

    def wires_charge_solids(self, play: Play, tick: int) -> None:
        """Sections 4 and 6: a solid is charged when driven, or under or run into by a powered wire.

        A lead runs into the solid at its pin's cell.

        Medium: 4 charged; 6 leads give.
        """
        rule = "4 charged"
        for cell in self.statics.cells:
            solid = self.statics.solid(cell)
            charged = self.rails.power(RAIL, "charged", play, cell, tick)
            driven = self.rails.power(RAIL, "driven", play, cell, tick)
            self._add(rule, [driven], charged)
            above = self.rails.power(RAIL, "wire", play, Direction.PZ.step(cell), tick)
            self._add(rule, [solid, above], charged)
            for direction in LEVEL_DIRECTIONS:
                beside = direction.step(cell)
                powered = self.rails.power(RAIL, "wire", play, beside, tick)
                owner = beside
                if not self.statics.geometry.inside(beside):
                    owner = self.statics.geometry.in_other_copy(beside) or beside
                runs = self.shape.runs(owner, direction.opposite)
                self._add(rule, [solid, powered, runs], charged)
                lead = self.rails.lead(RAIL, play, cell, direction, tick)
                self._add("6 leads give", [solid, lead], charged)

    def sources_power_wires(self, play: Play, tick: int) -> None:
        """Section 4: what gives a wire its full strength.

        Medium: 4 sources.
        """
        rule = "4 sources"
        for cell in self.statics.cells:
            wire = self.statics.wire(cell)
            if wire == FALSE:
                continue
            powered = self.rails.power(RAIL, "wire", play, cell, tick)
            for direction in ALL_DIRECTIONS:
                driven = self.rails.power(RAIL, "driven", play, direction.step(cell), tick)
                self._add(rule, [wire, driven], powered)
            for direction in (*LEVEL_DIRECTIONS, Direction.PZ):
                inverter = self.rails.power(RAIL, "inverter", play, direction.step(cell), tick)
                self._add(rule, [wire, inverter], powered)
            for direction in LEVEL_DIRECTIONS:
                beside = direction.step(cell)
                into = self.rails.buffer(RAIL, play, beside, direction.opposite, tick)
                self._add(rule, [wire, into], powered)
                outside = self.rails.input_on(RAIL, Joint.BUFFER, play, cell, direction)
                self._add(rule, [wire, outside], powered)

    def sources_light_leads(self, play: Play, tick: int) -> None:
        """Section 6: what at the pin's cell powers a lead, and the input itself.

        Medium: 6 leads receive; 6 input leads.
        """
        for slot in self.statics.names_at:
            cell, face = slot
            lead = self.statics.lead(cell, face)
            if lead == FALSE:
                continue
            powered = self.rails.wire(RAIL, play, slot, tick)
            for cause in (
                self.rails.power(RAIL, "driven", play, cell, tick),
                self.rails.power(RAIL, "inverter", play, cell, tick),
                self.rails.buffer(RAIL, play, cell, face, tick),
            ):
                self._add("6 leads receive", [lead, cause], powered)
            given = self.rails.input_on(RAIL, Joint.WIRE, play, cell, face)
            self._add("6 input leads", [given], powered)

    def links_pass_strength(self, play: Play, tick: int) -> None:
        """Section 5: links pass what is possibly on without loss.

        Medium: 5 without loss.
        """
        for link in self.shape.links:
            source = self.rails.wire(RAIL, play, link.source, tick)
            target = self.rails.wire(RAIL, play, link.target, tick)
            self._add("5 without loss", [link.literal, source], target)

    def inverters_follow_their_hosts(self, play: Play, tick: int) -> None:
        """Sections 4 and 5: possibly on unless the host was surely charged.

        Medium: 4 inverter sees; 5 inverters settle.
        """
        for cell in self.statics.cells:
            output = self.rails.power(RAIL, "inverter", play, cell, tick)
            for direction in HOST_DIRECTIONS:
                hangs = self.statics.inverter(cell, direction)
                host = direction.step(cell)
                before = self.rails.instants("surely", play, tick - 1)
                uncharged = [-now.power("charged", host) for now in before]
                self._add("5 inverters settle", [hangs, *uncharged], output)

    def buffers_follow_their_backs(self, play: Play, tick: int) -> None:
        """Section 5: possibly on if power was possibly seen at t-(2k-1) to t-1.

        Medium: 5 buffers settle.
        """
        for cell in self.statics.cells:
            if tick < self.rails.first_known_tick(RAIL, cell):
                continue
            window = 2 * self.statics.delays[cell] - 1
            for to in LEVEL_DIRECTIONS:
                buffer = self.statics.buffer(cell, to)
                output = self.rails.buffer(RAIL, play, cell, to, tick)
                if buffer == FALSE:
                    continue
                for seen_at in range(tick - window, tick):
                    for now in self.rails.instants(RAIL, play, seen_at):
                        for seen in causes.seen_at_back(now, Slot(cell, to)):
                            self._add("5 buffers settle", [buffer, seen], output)

    def held_buffers_stay_unknown(self, play: Play, tick: int) -> None:
        """Section 5: a buffer with a buffer pointing into its side is possibly on.

        Medium: 5 held settle.
        """
        for cell, to, holder in self.statics.holders():
            output = self.rails.buffer(RAIL, play, cell, to, tick)
            buffer = self.statics.buffer(cell, to)
            self._add("5 held settle", [buffer, holder], output)
