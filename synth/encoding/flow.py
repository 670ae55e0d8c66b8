"""Which signals flow where: wires, solids and outputs carry sets of known signals.

For each signal and place one variable says that the signal is there. It is defined exactly, both
ways: closed under every cause of section 4, and never without one. Two linked wires must not vouch
for each other, so whatever gives a wire its signal comes earlier in an order of that signal
(as in ``givers``); runs longer than ``longest_run`` are left out.
"""

from __future__ import annotations

from itertools import pairwise

from synth.encoding.formula import FALSE, Formula
from synth.encoding.geometry import Slot
from synth.encoding.question import Question
from synth.encoding.shape import Link, Node, Shape
from synth.encoding.signals import Origin, Signal
from synth.encoding.statics import Statics
from synth.medium import ALL_DIRECTIONS, LEVEL_DIRECTIONS, Cell, Direction, Joint


class Flow:
    """Declares what flows where and states the rules of one instant (section 4).

    Families, each by place and number of the signal: ``charged`` and ``driven`` (a solid),
    ``flow`` (a wire or lead), ``made`` (an inverter's output), ``repeated`` (a buffer's output).
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
        for number, signal in enumerate(signals):
            self._declare(number, signal)

    def state(self) -> None:
        """State every rule of one instant, for each signal."""
        for number in range(len(self.signals)):
            self.driven_solids(number)
            self.charged_solids(number)
            self.lit_wires(number)

    # Declaring and looking up

    def _declare(self, number: int, signal: Signal) -> None:
        formula, statics = self.formula, self.statics
        for cell in statics.cells:
            formula.declare("charged", cell, number)
            formula.declare("driven", cell, number)
            makes = signal.origin is Origin.INVERTER and statics.any_inverter(cell) != FALSE
            self._declare_if(makes, "made", cell, number)
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

    def power(self, family: str, cell: Cell, number: int) -> int:
        """``charged``, ``driven`` or ``made`` at a cell of the box; false beyond it."""
        if not self.statics.geometry.inside(cell):
            return FALSE
        return self.formula.literal(family, cell, number)

    def wire(self, cell: Cell, number: int) -> int:
        """The wire in a cell carries the signal."""
        return FALSE if self.statics.wire(cell) == FALSE else self.node(cell, number)

    def lead(self, cell: Cell, face: Direction, number: int) -> int:
        """The lead beyond that face carries the signal."""
        if self.statics.lead(cell, face) == FALSE:
            return FALSE
        return self.node(Slot(cell, face), number)

    def node(self, node: Node, number: int) -> int:
        """The wire or lead at a node carries the signal."""
        return self.formula.literal("flow", node, number)

    def buffer(self, cell: Cell, to: Direction, number: int) -> int:
        """The buffer in a cell that points along ``to`` gives the signal."""
        if not self.statics.geometry.inside(cell):
            return FALSE
        return self.formula.literal("repeated", cell, to, number)

    def input(self, joint: Joint, cell: Cell, face: Direction, number: int) -> int:
        """The signal is an input whose pin, with that joint, sits beyond that face."""
        signal = self.signals[number]
        if signal.origin is not Origin.INPUT:
            return FALSE
        slot = Slot(cell, face)
        if self.question.spec.joint(signal.name) is not joint:
            return FALSE
        if slot not in self.statics.slots[signal.name]:
            return FALSE
        return self.statics.pin(signal.name, slot)

    def buffers_into(self, cell: Cell, number: int) -> list[int]:
        """Buffers that give the signal and point into a cell, outside ones included."""
        found = []
        for face in LEVEL_DIRECTIONS:
            found.append(self.buffer(face.step(cell), face.opposite, number))
            found.append(self.input(Joint.BUFFER, cell, face, number))
        return found

    # Rules

    def exactly(self, rule: str, effect: int, presence: int, causes: list[int]) -> None:
        """``effect`` is there exactly if ``presence`` is and any of ``causes``."""
        kept = [cause for cause in causes if cause != FALSE]
        for cause in kept:
            self.formula.imply(rule, [presence, cause], effect)
        self.formula.add(rule, [-effect, presence])
        self.formula.add(rule, [-effect, *kept])

    def driven_solids(self, number: int) -> None:
        """Section 4: a solid is driven by an inverter below or a buffer pointing into it."""
        for cell in self.statics.cells:
            below = self.power("made", Direction.NZ.step(cell), number)
            driven = self.power("driven", cell, number)
            causes = [below, *self.buffers_into(cell, number)]
            self.exactly("flow: driven solids", driven, self.statics.solid(cell), causes)

    def charged_solids(self, number: int) -> None:
        """Section 4: a solid is charged when driven, under a lit wire, or run into by one."""
        for cell in self.statics.cells:
            causes = [
                self.power("driven", cell, number),
                self.wire(Direction.PZ.step(cell), number),
            ]
            for direction in LEVEL_DIRECTIONS:
                beside = direction.step(cell)
                name = ("running", beside, direction.opposite, number)
                lit = self.wire(beside, number)
                runs = self.shape.runs(beside, direction.opposite)
                if FALSE not in (lit, runs):
                    both = self.formula.define_and("flow: running wires", name, [lit, runs])
                    causes.append(both)
                causes.append(self.lead(cell, direction, number))
            charged = self.power("charged", cell, number)
            self.exactly("flow: charged solids", charged, self.statics.solid(cell), causes)

    def lit_wires(self, number: int) -> None:
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
            there, lit = self.shape.presence(node), self.node(node, number)
            sources = [source for source in self.sources(node, number) if source != FALSE]
            self.formula.add("flow: a lit wire is there", [-lit, there])
            for source in sources:
                self.formula.imply("flow: sources light wires", [there, source], lit)
            givers = [
                self._giver(node, number, index, link)
                for index, link in enumerate(self.shape.into[node])
            ]
            self.formula.add("flow: a lit wire has a giver", [-lit, *sources, *givers])

    def _giver(self, node: Node, number: int, index: int, link: Link) -> int:
        """The literal that says that a wire takes the signal through one of its links."""
        formula, rule = self.formula, "flow: a giver comes first"
        lit, source = self.node(node, number), self.node(link.source, number)
        formula.imply("flow: links pass signals on", [link.literal, source], lit)
        given = formula.declare("given", node, number, index)
        formula.imply("flow: a giver is linked", [given], link.literal)
        formula.imply("flow: a giver is lit", [given], source)
        mine = [formula.literal("earlier", node, number, n) for n in range(self.longest_run)]
        its = [formula.literal("earlier", link.source, number, n) for n in range(self.longest_run)]
        formula.add(rule, [-given, -mine[0]])
        for own, one_earlier in zip(mine[1:], its, strict=False):
            formula.imply(rule, [given, own], one_earlier)
        formula.imply(rule, [given], its[-1])
        return given

    def sources(self, node: Node, number: int) -> list[int]:
        """What gives a wire or lead its full strength (sections 4 and 6)."""
        if isinstance(node, Slot):
            cell, face = node
            return [
                self.power("driven", cell, number),
                self.power("made", cell, number),
                self.buffer(cell, face, number),
                self.input(Joint.WIRE, cell, face, number),
            ]
        found = [self.power("driven", way.step(node), number) for way in ALL_DIRECTIONS]
        found += [
            self.power("made", way.step(node), number) for way in (*LEVEL_DIRECTIONS, Direction.PZ)
        ]
        return found + self.buffers_into(node, number)

    def seen_at_back(self, buffer: Slot, number: int) -> list[int]:
        """Section 4: what can give the signal to the back of a buffer in a cell, pointing a way."""
        cell, to = buffer
        back = to.opposite.step(cell)
        found = [
            self.wire(back, number),
            self.power("charged", back, number),
            self.power("made", back, number),
            self.buffer(back, to, number),
            self.lead(cell, to.opposite, number),
            self.input(Joint.BUFFER, cell, to.opposite, number),
        ]
        return [literal for literal in found if literal != FALSE]

    def seen_at_pin(self, name: str, slot: Slot, number: int) -> list[int]:
        """Section 6: by what an output pin at a slot reads the signal."""
        cell, face = slot
        if self.question.spec.joint(name) is Joint.WIRE:
            return [self.lead(cell, face, number)]
        found = [
            self.wire(cell, number),
            self.power("charged", cell, number),
            self.power("made", cell, number),
            self.buffer(cell, face, number),
        ]
        return [literal for literal in found if literal != FALSE]
