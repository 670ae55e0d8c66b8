"""The last tick told backwards: from what an output reads to what makes it read on.

**One plane for each output, in place of both rails of every row.** In one instant everything is an
OR (section 4: each rule names things of which one being on is enough). So an output reads on at the
last tick exactly where something that *leads to* it is on: an inverter, a buffer or an input from
which power goes on, step by step, to what the output reads. What leads to what is a matter of where
the parts are, and the same in every row. So

- an output that must be 1 needs an inverter or buffer that is surely on and leads to it, or an
  input that is on and does;
- one that must be 0 has none that is possibly on, and no input that is on;
- the lead of an input that is off has nothing that leads to it and is possibly on.

Where the truth table is free, the first is asked of a row where it reads one, and the second where
it reads zero. Inverters and buffers keep their variables at the last tick, since they follow from
the tick before; wires and solids need none then.

*Why no layout is lost or gained.* The plane of an output is exact, both ways: closed under every
step from cause to effect, and each thing in it has a next step that is in it. Two linked wires must
not vouch for each other, so the next wire is nearer to the end in an order. A shortest way to an
output has no short cut, just as one from a source, so the same number of places is enough
(``link_bound``). The plane serves both rails, which differ only by strength that fades: where the
formula is exact none does (``Rails.exact``); elsewhere more may be sure than is, as without it.

*Stacks.* What is possibly on in a neighbour and leads here breaks a 0 as well. A second plane says
what leads to an output from another copy; only what is possible is asked of it, so it is merely
closed. Inputs whose lead must not be on have two planes that are merely closed.
"""

from __future__ import annotations

from collections.abc import Hashable, Iterator
from itertools import pairwise

from synth.encoding.formula import FALSE, TRUE, Formula
from synth.encoding.geometry import Slot
from synth.encoding.givers import comes_earlier
from synth.encoding.question import Play, Question
from synth.encoding.rails import Rails
from synth.encoding.shape import Link, Node
from synth.encoding.statics import Statics
from synth.medium import ALL_DIRECTIONS, LEVEL_DIRECTIONS, Cell, Direction, Joint, Role

HERE, ACROSS = "leads", "leads across"
"""The two planes of an output or input: what leads to it from this copy, and from another."""

RULE = "what leads to an output"


class Backwards:
    """Declares and states what leads to outputs, and to inputs that must not be fed back."""

    def __init__(
        self, formula: Formula, question: Question, statics: Statics, rails: Rails
    ) -> None:
        self.formula = formula
        self.question = question
        self.statics = statics
        self.rails = rails
        self.shape = rails.shape
        self._silent_across: set[tuple[str, int]] = set()
        self.onward: dict[Node, list[Link]] = {node: [] for node in self.shape.nodes()}
        for link in self.shape.links:
            self.onward[link.source].append(link)
        spec = question.spec
        for name in spec.pin_names:
            if spec.role(name) is Role.OUTPUT or spec.joint(name) is Joint.WIRE:
                self._state(name, reasons=spec.role(name) is Role.OUTPUT)

    # Looking up

    def leads(self, plane: str, name: str, family: str, *place: Hashable) -> int:
        """Power at a ``wire`` (or lead), ``driven`` solid, ``inverter`` or ``buffer`` leads to a
        pin; the false literal where there is nothing.
        """
        key = (plane, name, family, *place)
        return self.formula.literal(*key) if self.formula.has(*key) else FALSE

    def input_leads(self, plane: str, name: str, given: str) -> int:
        """An input leads to a pin: some slot that it sits at does."""
        return self.leads(plane, name, "input", given)

    def devices(
        self, rail: str, play: Play
    ) -> Iterator[tuple[tuple[str, *tuple[Cell | Direction, ...]], int]]:
        """Every inverter and buffer: its family and place, and that it is on at the last tick."""
        last = self.question.delay
        for cell in self.statics.cells:
            yield ("inverter", cell), self.rails.power(rail, "inverter", play, cell, last)
            for to in LEVEL_DIRECTIONS:
                yield ("buffer", cell, to), self.rails.buffer(rail, play, cell, to, last)

    # What is asked

    def reads_on(self, play: Play, name: str) -> list[int]:
        """What makes an output surely read on at the last tick of a row: one of these is true."""
        causes = [self.input_leads(HERE, name, given) for given in sorted(play.on)]
        for place, on in self.devices("surely", play):
            leads = self.leads(HERE, name, *place)
            if FALSE not in (leads, on):
                cause = self.formula.declare("makes read", name, play.index, *place)
                self.formula.add(RULE, [-cause, leads])
                self.formula.add(RULE, [-cause, on])
                causes.append(cause)
        return causes

    def stays_off(self, rule: str, play: Play, name: str, where: int = TRUE) -> None:
        """State that nothing that is possibly on at the last tick of a row leads to a pin.

        What leads to it from a neighbour does so in every row, and is ruled out once.

        Args:
            rule: the rule that asks for it.
            play: the row.
            name: the pin.
            where: a literal; it is asked for only where this is true.
        """
        neighbour = self.question.neighbour
        with self.formula.unless(-where):
            self._none_on(rule, HERE, play, name)
            if neighbour is not None and (name, where) not in self._silent_across:
                self._silent_across.add((name, where))
                self._none_on(rule, ACROSS, neighbour, name)

    def _none_on(self, rule: str, plane: str, play: Play, name: str) -> None:
        for given in sorted(play.possibly):
            self.formula.add(rule, [-self.input_leads(plane, name, given)])
        for place, on in self.devices("possibly", play):
            self.formula.add(rule, [-self.leads(plane, name, *place), -on])

    # The planes

    def _state(self, name: str, *, reasons: bool) -> None:
        planes = (HERE,) if self.question.neighbour is None else (HERE, ACROSS)
        for cell in self.statics.cells:
            self._declare_read(name, cell)
        for plane in planes:
            self._declare(plane, name)
        for plane in planes:
            exact = reasons and plane == HERE
            for node in self.shape.nodes():
                self.what_a_wire_leads_to(plane, name, node, reasons=exact)
            for cell in self.statics.cells:
                self.what_a_driven_solid_leads_to(plane, name, cell, reasons=exact)
                self.what_an_inverter_leads_to(plane, name, cell, reasons=exact)
                for to in LEVEL_DIRECTIONS:
                    self.what_a_buffer_leads_to(plane, name, cell, to, reasons=exact)
            if exact:
                self.next_wires_are_nearer(name)
            for given in self.question.spec.function.inputs:
                self.what_an_input_leads_to(plane, name, given)

    def _declare_read(self, name: str, cell: Cell) -> None:
        """A pin of buffer joint reads at a cell, and a solid that is there."""
        spec = self.question.spec
        at_cell = [
            self.statics.pin(name, slot)
            for slot in self.statics.slots[name]
            if slot.cell == cell and spec.joint(name) is Joint.BUFFER
        ]
        read = self.formula.define_or(RULE, ("read at", name, cell), at_cell)
        self.formula.define_and(RULE, ("read solid", name, cell), [read, self.statics.solid(cell)])

    def _declare(self, plane: str, name: str) -> None:
        for node in self.shape.nodes():
            self.formula.declare(plane, name, "wire", node)
        for cell in self.statics.cells:
            self.formula.declare(plane, name, "driven", cell)
            if self.statics.any_inverter(cell) != FALSE:
                self.formula.declare(plane, name, "inverter", cell)
            for to in LEVEL_DIRECTIONS:
                if self.statics.buffer(cell, to) != FALSE:
                    self.formula.declare(plane, name, "buffer", cell, to)

    def _closed(self, cause: int, guard: list[int], effects: list[int]) -> None:
        """Power at ``cause``, if ``guard`` is there, leads to a pin if one of ``effects`` does."""
        for effect in effects:
            if FALSE not in (cause, effect):
                self.formula.imply(RULE, [*guard, effect], cause)

    def _reasoned(self, cause: int, guard: list[int], effects: list[int]) -> None:
        """It does so only if ``guard`` is there and one of ``effects`` does."""
        if cause != FALSE:
            for needed in guard:
                self.formula.imply(RULE, [cause], needed)
            self.formula.add(RULE, [-cause, *effects])

    def _read(self, plane: str, name: str, cell: Cell, family: str = "read at") -> int:
        if plane == ACROSS or not self.statics.geometry.inside(cell):
            return FALSE
        return self.formula.literal(family, name, cell)

    def _beyond(self, plane: str, name: str, family: str, cell: Cell) -> list[int]:
        """That a wire or solid at a cell leads on: in the same copy, or from one to the next."""
        if self.statics.geometry.inside(cell):
            return [self.leads(plane, name, family, cell)]
        other = self.statics.geometry.in_other_copy(cell)
        if plane == HERE or other is None:
            return []
        return [self.leads(each, name, family, other) for each in (HERE, ACROSS)]

    def what_a_wire_leads_to(self, plane: str, name: str, node: Node, *, reasons: bool) -> None:
        """Sections 4, 6 and 7: a wire or lead gives what is linked to it, and charges solids.

        Of charged solids only those that an output reads matter: they power nothing.

        Medium: 4 charged; 4 along links; 6 leads give; 6 outputs read; 7 every copy.
        """
        cause = self.leads(plane, name, "wire", node)
        effects: list[int] = []
        if isinstance(node, Slot):
            spec = self.question.spec
            if (
                plane == HERE
                and spec.joint(name) is Joint.WIRE
                and node in self.statics.slots[name]
            ):
                effects.append(self.statics.pin(name, node))
            effects.append(self._read(plane, name, node.cell, "read solid"))
        else:
            effects.append(self._read(plane, name, node))
            for way in (*LEVEL_DIRECTIONS, Direction.NZ):
                read = self._solid_read(plane, name, way.step(node))
                runs = [] if way is Direction.NZ else [self.shape.runs(node, way)]
                effects.append(
                    self.formula.define_and(
                        RULE, (plane, name, "charges", node, way), [*runs, read]
                    )
                )
        guard = [self.shape.presence(node)]
        self._closed(cause, guard, effects)
        for link in self.onward[node]:
            on = self.leads(plane, name, "wire", link.target)
            self.formula.imply(RULE, [link.literal, on], cause)
            if reasons:
                effects.append(self._step(name, link, on))
        if reasons:
            self._reasoned(cause, guard, effects)

    def _solid_read(self, plane: str, name: str, cell: Cell) -> int:
        """A solid at a cell that the pin reads: of this copy, seen from this one or another."""
        if plane == ACROSS:
            other = self.statics.geometry.in_other_copy(cell)
            return FALSE if other is None else self._read(HERE, name, other, "read solid")
        return self._read(plane, name, cell, "read solid")

    def _step(self, name: str, link: Link, on: int) -> int:
        """That power goes on through a link, whose target is nearer to the end."""
        step = self.formula.declare("leads on", name, link.source, link.target)
        self.formula.imply(RULE, [step], link.literal)
        self.formula.imply(RULE, [step], on)
        return step

    def next_wires_are_nearer(self, name: str) -> None:
        """Section 4: the next wire on the way to an output is nearer to the end.

        ``("to go", name, node, n)`` says that the node is ``n`` places from the end or nearer.

        Medium: 4 along links.
        """
        last = self.rails.most_links
        places = {
            node: [self.formula.declare("to go", name, node, n) for n in range(last)]
            for node in self.shape.nodes()
        }
        for own in places.values():
            for nearer, farther in pairwise(own):
                self.formula.imply(RULE, [nearer], farther)
        for links in self.onward.values():
            for link in links:
                step = self.formula.literal("leads on", name, link.source, link.target)
                comes_earlier(self.formula, RULE, step, places[link.source], places[link.target])

    def what_a_driven_solid_leads_to(
        self, plane: str, name: str, cell: Cell, *, reasons: bool
    ) -> None:
        """Sections 4, 6 and 7: a driven solid is charged and powers the wires and leads around it.

        Medium: 4 charged; 4 sources; 6 leads receive; 6 outputs read; 7 every copy.
        """
        effects = [self._read(plane, name, cell), *self._leads_at(plane, name, cell)]
        for way in ALL_DIRECTIONS:
            effects += self._beyond(plane, name, "wire", way.step(cell))
        cause = self.leads(plane, name, "driven", cell)
        self._closed(cause, [self.statics.solid(cell)], effects)
        if reasons:
            self._reasoned(cause, [self.statics.solid(cell)], effects)

    def _leads_at(self, plane: str, name: str, cell: Cell) -> list[int]:
        return [self.leads(plane, name, "wire", Slot(cell, face)) for face in LEVEL_DIRECTIONS]

    def what_an_inverter_leads_to(
        self, plane: str, name: str, cell: Cell, *, reasons: bool
    ) -> None:
        """Sections 4, 6 and 7: an inverter drives the solid on top and powers wires and leads.

        Medium: 4 driven; 4 sources; 6 leads receive; 6 outputs read; 7 every copy.
        """
        effects = [self._read(plane, name, cell), *self._leads_at(plane, name, cell)]
        effects += self._beyond(plane, name, "driven", Direction.PZ.step(cell))
        for way in (*LEVEL_DIRECTIONS, Direction.NZ):
            effects += self._beyond(plane, name, "wire", way.step(cell))
        cause = self.leads(plane, name, "inverter", cell)
        self._closed(cause, [], effects)
        if reasons:
            self._reasoned(cause, [], effects)

    def what_a_buffer_leads_to(
        self, plane: str, name: str, cell: Cell, to: Direction, *, reasons: bool
    ) -> None:
        """Sections 4 and 6: a buffer drives the solid, or powers the wire or lead, in front.

        Medium: 4 driven; 4 sources; 6 leads receive; 6 outputs read.
        """
        slot, front = Slot(cell, to), to.step(cell)
        effects = [self.leads(plane, name, "wire", slot)]
        read_beyond = self.question.spec.joint(name) is Joint.BUFFER
        if plane == HERE and read_beyond and slot in self.statics.slots[name]:
            effects.append(self.statics.pin(name, slot))
        if self.statics.geometry.inside(front):
            effects += self._beyond(plane, name, "driven", front)
            effects += self._beyond(plane, name, "wire", front)
        cause = self.leads(plane, name, "buffer", cell, to)
        self._closed(cause, [], effects)
        if reasons:
            self._reasoned(cause, [], effects)

    def what_an_input_leads_to(self, plane: str, name: str, given: str) -> None:
        """Section 6: an input powers its lead, or its buffer what is at its cell.

        Medium: 6 input leads; 6 outside buffers.
        """
        wired = self.question.spec.joint(given) is Joint.WIRE
        ways = []
        for slot in self.statics.slots[given]:
            if wired:
                leads = self.leads(plane, name, "wire", slot)
            else:
                key = (plane, name, "enters", slot.cell)
                if not self.formula.has(*key):
                    families = ("driven", "wire")
                    entered = [self.leads(plane, name, f, slot.cell) for f in families]
                    self.formula.define_or(RULE, key, entered)
                leads = self.formula.literal(*key)
            pin = self.statics.pin(given, slot)
            way = (plane, name, "input at", given, slot)
            ways.append(self.formula.define_and(RULE, way, [pin, leads]))
        self.formula.define_or(RULE, (plane, name, "input", given), ways)
