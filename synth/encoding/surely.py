"""The rail of what is surely on: nothing without a reason (sections 4 and 5).

All clauses are one-sided: what is surely on has a cause that is surely on. A model may call fewer
things sure than are: the safe side. How wires are powered through links is said in ``givers``.
"""

from __future__ import annotations

from synth.encoding import causes
from synth.encoding.formula import FALSE, Formula
from synth.encoding.geometry import Slot
from synth.encoding.givers import Counted, Ordered
from synth.encoding.question import Play
from synth.encoding.rails import Rails
from synth.encoding.shape import Node, Shape
from synth.encoding.statics import Statics
from synth.medium import HOST_DIRECTIONS, LEVEL_DIRECTIONS, Direction

RAIL = "surely"


class Surely:
    """States the reasons of one play at one tick, and from tick to tick."""

    def __init__(self, formula: Formula, statics: Statics, shape: Shape, rails: Rails) -> None:
        self.formula = formula
        self.statics = statics
        self.shape = shape
        self.rails = rails
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
        for cell in self.statics.cells:
            driven = self.rails.power(RAIL, "driven", play, cell, tick)
            self._add(rule, driven, [self.statics.solid(cell)])
            self._add(rule, driven, causes.drivers(now, cell))

    def charged_solids_have_a_charger(self, play: Play, tick: int) -> None:
        """Sections 4 and 6: a solid is charged when driven, or under or run into by a powered wire.

        A lead runs into the solid at its pin's cell.

        Medium: 4 charged; 6 leads give.
        """
        rule = "4 charged"
        for cell in self.statics.cells:
            charged = self.rails.power(RAIL, "charged", play, cell, tick)
            reasons = [
                self.rails.power(RAIL, "driven", play, cell, tick),
                self.rails.power(RAIL, "wire", play, Direction.PZ.step(cell), tick),
            ]
            for direction in LEVEL_DIRECTIONS:
                beside = direction.step(cell)
                powered = self.rails.power(RAIL, "wire", play, beside, tick)
                runs = self.shape.runs(beside, direction.opposite)
                name = ("surely", "running", play.index, beside, direction.opposite, tick)
                reasons.append(self._both(name, powered, runs))
                reasons.append(self.rails.lead(RAIL, play, cell, direction, tick))
            self._add(rule, charged, [self.statics.solid(cell)])
            self._add(rule, charged, reasons)

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
        return causes.sources(self.rails.at(RAIL, play, tick), node)

    def inverters_follow_their_hosts(self, play: Play, tick: int) -> None:
        """Sections 4 and 5: surely on only if the host was not possibly charged.

        Medium: 4 inverter sees; 5 inverters settle.
        """
        rule = "5 inverters settle"
        for cell in self.statics.cells:
            output = self.rails.power(RAIL, "inverter", play, cell, tick)
            self._add(rule, output, [self.statics.any_inverter(cell)])
            for direction in HOST_DIRECTIONS:
                hangs = self.statics.inverter(cell, direction)
                host = direction.step(cell)
                for before in self.rails.instants("possibly", play, tick - 1):
                    self._add(rule, output, [-hangs, -before.power("charged", host)])

    def buffers_follow_their_backs(self, play: Play, tick: int) -> None:
        """Section 5: surely on only if power was surely seen at all of t-k to t-1.

        Medium: 5 buffers settle.
        """
        rule = "5 buffers settle"
        for cell in self.statics.cells:
            delay = self.statics.delays[cell]
            if tick < self.rails.first_known_tick(RAIL, cell):
                continue
            for to in LEVEL_DIRECTIONS:
                output = self.rails.buffer(RAIL, play, cell, to, tick)
                self._add(rule, output, [self.statics.buffer(cell, to)])
                for seen_at in range(tick - delay, tick):
                    reasons: list[int] = []
                    for now in self.rails.instants(RAIL, play, seen_at):
                        reasons += causes.seen_at_back(now, Slot(cell, to))
                    self._add(rule, output, reasons)

    def held_buffers_stay_unknown(self, play: Play, tick: int) -> None:
        """Section 5: a buffer with a buffer pointing into its side is never surely on.

        Medium: 5 held settle.
        """
        for cell, to, holder in self.statics.holders():
            output = self.rails.buffer(RAIL, play, cell, to, tick)
            self._add("5 held settle", output, [-holder])
