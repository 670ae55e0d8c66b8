"""Which signals flow where: wires, solids and outputs carry sets of known signals.

For each signal and place one variable says that the signal is there. It is defined exactly, both
ways: closed under every cause of section 4, and never without one. Two linked wires must not vouch
for each other, so whatever gives a wire its signal comes earlier in an order of that signal
(as in ``givers``); runs longer than ``longest_run`` are left out.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

from synth.encoding import causes
from synth.encoding.formula import FALSE, Formula
from synth.encoding.geometry import Slot
from synth.encoding.placing.signals import Origin, Signal
from synth.encoding.question import Question
from synth.encoding.shape import Link, Node, Shape
from synth.encoding.statics import Statics
from synth.medium import LEVEL_DIRECTIONS, Cell, Direction, Joint


@dataclass(frozen=True, slots=True)
class Carried:
    """Where one signal is, as ``causes`` asks for it."""

    flow: Flow
    number: int

    def power(self, family: str, cell: Cell) -> int:
        """What of that family is at a cell of the box and has the signal."""
        statics = self.flow.statics
        if not statics.geometry.inside(cell):
            return FALSE
        if family == "wire":
            return FALSE if statics.wire(cell) == FALSE else self.flow.node(cell, self.number)
        return self.flow.formula.literal(family, cell, self.number)

    def lead(self, cell: Cell, face: Direction) -> int:
        """The lead beyond that face carries the signal."""
        if self.flow.statics.lead(cell, face) == FALSE:
            return FALSE
        return self.flow.node(Slot(cell, face), self.number)

    def buffer(self, cell: Cell, to: Direction) -> int:
        """The buffer in a cell that points along ``to`` gives the signal."""
        if not self.flow.statics.geometry.inside(cell):
            return FALSE
        return self.flow.formula.literal("repeated", cell, to, self.number)

    def input_on(self, joint: Joint, cell: Cell, face: Direction) -> int:
        """The signal is an input whose pin, with that joint, sits beyond that face."""
        signal, slot = self.flow.signals[self.number], Slot(cell, face)
        if signal.origin is not Origin.INPUT:
            return FALSE
        if self.flow.question.spec.joint(signal.name) is not joint:
            return FALSE
        if slot not in self.flow.statics.slots[signal.name]:
            return FALSE
        return self.flow.statics.pin(signal.name, slot)


class Flow:
    """Declares what flows where and states the rules of one instant (section 4).

    Families, each by place and number of the signal: ``charged`` and ``driven`` (a solid),
    ``flow`` (a wire or lead), ``inverter`` (its output), ``repeated`` (a buffer's output).
    """

    def __init__(
        self,
        formula: Formula,
        question: Question,
        statics: Statics,
        shape: Shape,
        signals: tuple[Signal, ...],
        longest_run: int,
    ) -> None:
        self.formula = formula
        self.question = question
        self.statics = statics
        self.shape = shape
        self.signals = signals
        self.longest_run = longest_run
        self._carried = [Carried(self, number) for number in range(len(signals))]
        for number, signal in enumerate(signals):
            self._declare(number, signal)

    def state(self) -> None:
        """State every rule of one instant, for each signal."""
        for number in range(len(self.signals)):
            self.driven_solids(number)
            self.charged_solids(number)
            self.powered_wires(number)

    # Declaring and looking up

    def _declare(self, number: int, signal: Signal) -> None:
        formula, statics = self.formula, self.statics
        for cell in statics.cells:
            formula.declare("charged", cell, number)
            formula.declare("driven", cell, number)
            makes = signal.origin is Origin.INVERTER and statics.any_inverter(cell) != FALSE
            self._declare_if(makes, "inverter", cell, number)
            for to in LEVEL_DIRECTIONS:
                repeats = signal.origin is Origin.BUFFER and statics.buffer(cell, to) != FALSE
                self._declare_if(repeats, "repeated", cell, to, number)
        for node in self.shape.nodes():
            formula.declare("flow", node, number)

    def _declare_if(self, there: bool, family: str, *key: Cell | Direction | int) -> None:
        if there:
            self.formula.declare(family, *key)
        else:
            self.formula.alias(FALSE, family, *key)

    def of(self, number: int) -> Carried:
        """Where one signal is."""
        return self._carried[number]

    def node(self, node: Node, number: int) -> int:
        """The wire or lead at a node carries the signal."""
        return self.formula.literal("flow", node, number)

    # Rules

    def exactly(self, rule: str, effect: int, presence: int, reasons: list[int]) -> None:
        """``effect`` is there exactly if ``presence`` is and any of ``reasons``."""
        kept = [reason for reason in reasons if reason != FALSE]
        for reason in kept:
            self.formula.imply(rule, [presence, reason], effect)
        self.formula.add(rule, [-effect, presence])
        self.formula.add(rule, [-effect, *kept])

    def driven_solids(self, number: int) -> None:
        """Section 4: a solid is driven by an inverter below or a buffer pointing into it."""
        signal = self.of(number)
        for cell in self.statics.cells:
            driven, solid = signal.power("driven", cell), self.statics.solid(cell)
            self.exactly("flow: driven solids", driven, solid, causes.drivers(signal, cell))

    def charged_solids(self, number: int) -> None:
        """Section 4: a solid is charged when driven, under a powered wire, or run into by one."""
        signal = self.of(number)
        for cell in self.statics.cells:
            chargers = [
                signal.power("driven", cell),
                signal.power("wire", Direction.PZ.step(cell)),
            ]
            for direction in LEVEL_DIRECTIONS:
                beside = direction.step(cell)
                name = ("running", beside, direction.opposite, number)
                powered = signal.power("wire", beside)
                runs = self.shape.runs(beside, direction.opposite)
                if FALSE not in (powered, runs):
                    both = self.formula.define_and("flow: running wires", name, [powered, runs])
                    chargers.append(both)
                chargers.append(signal.lead(cell, direction))
            charged, solid = signal.power("charged", cell), self.statics.solid(cell)
            self.exactly("flow: charged solids", charged, solid, chargers)

    def powered_wires(self, number: int) -> None:
        """Section 4: a wire takes the signal from a source beside it or through a link."""
        nodes = self.shape.nodes()
        for node in nodes:
            places = [
                self.formula.declare("earlier", node, number, place)
                for place in range(self.longest_run)
            ]
            for earlier, later in pairwise(places):
                self.formula.imply("flow: places are in order", [earlier], later)
        for node in nodes:
            there, powered = self.shape.presence(node), self.node(node, number)
            sources = [one for one in causes.sources(self.of(number), node) if one != FALSE]
            self.formula.add("flow: a powered wire is there", [-powered, there])
            for source in sources:
                self.formula.imply("flow: sources power wires", [there, source], powered)
            givers = [
                self._giver(node, number, index, link)
                for index, link in enumerate(self.shape.into[node])
            ]
            self.formula.add("flow: a powered wire has a giver", [-powered, *sources, *givers])

    def _giver(self, node: Node, number: int, index: int, link: Link) -> int:
        """The literal that says that a wire takes the signal through one of its links."""
        formula, rule = self.formula, "flow: a giver comes first"
        powered, source = self.node(node, number), self.node(link.source, number)
        formula.imply("flow: links pass signals on", [link.literal, source], powered)
        given = formula.declare("given", node, number, index)
        formula.imply("flow: a giver is linked", [given], link.literal)
        formula.imply("flow: a giver is powered", [given], source)
        mine = [formula.literal("earlier", node, number, n) for n in range(self.longest_run)]
        its = [formula.literal("earlier", link.source, number, n) for n in range(self.longest_run)]
        formula.add(rule, [-given, -mine[0]])
        for own, one_earlier in zip(mine[1:], its, strict=False):
            formula.imply(rule, [given, own], one_earlier)
        formula.imply(rule, [given], its[-1])
        return given
