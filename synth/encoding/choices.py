"""What may be chosen: which part each cell may hold, where each pin may sit (sections 2, 6, 7, 8).

``clear`` and ``ledge`` are one *insulator* here; decoding names it by what rests on it.
"""

from __future__ import annotations

from collections.abc import Sequence

from synth.encoding.formula import FALSE, TRUE, Formula
from synth.encoding.geometry import Geometry, Slot
from synth.encoding.question import Question
from synth.medium import (
    HOST_DIRECTIONS,
    LEVEL_DIRECTIONS,
    Block,
    Cell,
    Direction,
    Joint,
    Part,
    Role,
)


def slots_of(question: Question) -> dict[str, list[Slot]]:
    """Where each pin of a question may sit."""
    spec, slots = question.spec, question.geometry.slots()
    return {
        name: [
            slot
            for slot in slots
            if slot.face in spec.faces(name)
            and (spec.pins[name].at is None or slot.cell == spec.pins[name].at)
        ]
        for name in spec.pin_names
    }


class Choices:
    """Declares the static variables of a question and looks them up.

    The look-ups (``solid``, ``wire``...) answer for any cell: outside the box nothing is
    there, so they give the false literal.
    """

    def __init__(self, formula: Formula, question: Question) -> None:
        self.formula = formula
        self.question = question
        self.geometry: Geometry = question.geometry
        self.cells = self.geometry.cells
        self.slots = self.admissible_slots()
        self.delays = {cell: self.delay_of(cell) for cell in self.cells}
        self._declare_parts()
        self._declare_pins()

    # Declaring

    def delay_of(self, cell: Cell) -> int:
        """Section 2: ticks of a buffer in ``cell``, one of the delays of the rule table.

        A longer delay never settles sooner, so the shortest one serves, except where the
        specification fixes a buffer.

        Medium: 2 buffer delays.
        """
        block = self.question.spec.fixed.get(cell)
        if block is not None and block.part is Part.BUFFER:
            return block.delay
        return self.question.rules.buffer_delays[0]

    def _declare_parts(self) -> None:
        for cell in self.cells:
            self.formula.declare("solid", cell)
            self.formula.declare("insulator", cell)
            floating = self.floats_at_floor(cell)
            self._declare_unless(floating, "wire", cell)
            for direction in HOST_DIRECTIONS:
                hostless = self.host_is_outside(cell, direction)
                self._declare_unless(hostless, "inverter", cell, direction)
            for direction in LEVEL_DIRECTIONS:
                barred = floating or self.buffer_crosses(cell, direction)
                self._declare_unless(barred, "buffer", cell, direction)
            self.formula.define_or(
                "2 hosts",
                ("any inverter", cell),
                [self.inverter(cell, direction) for direction in HOST_DIRECTIONS],
            )

    def _declare_unless(self, barred: bool, family: str, *key: Cell | Direction) -> None:
        if barred:
            self.formula.alias(FALSE, family, *key)
        else:
            self.formula.declare(family, *key)

    def floats_at_floor(self, cell: Cell) -> bool:
        """Section 8: without ground nothing bears a wire or buffer at height 0.

        Medium: 8 ground.
        """
        return cell[2] == 0 and not self.geometry.ground

    def host_is_outside(self, cell: Cell, on: Direction) -> bool:
        """Sections 2, 7 and 8: an inverter there would have no host, or one outside the box.

        Ground is no host, nor is a solid of another copy.

        Medium: 2 hosts; 7 hosts; 8 inverters.
        """
        return not self.geometry.inside(on.step(cell))

    def buffer_crosses(self, cell: Cell, to: Direction) -> bool:
        """Sections 7 and 11: a buffer there would have its back or front in another copy, which
        only the buffer of a link has, and one in front of it.

        Medium: 7 buffers; 11 strange.
        """
        ends = (Slot(cell, to), Slot(cell, to.opposite))
        crossing = [end for end in ends if self.geometry.in_other_copy(end.face.step(end.cell))]
        return not all(self.linking(end, to) for end in crossing)

    def linking(self, slot: Slot, to: Direction) -> list[str]:
        """The pins of links that a buffer that points along ``to`` may be in front of or behind.

        Args:
            slot: where the pin would sit: at the buffer's cell, at its front or its back.
        """
        links = self.question.spec.chain
        ends = [link.output if slot.face is to else link.input for link in links]
        return [name for name in ends if slot in self.slots[name]]

    def admissible_slots(self) -> dict[str, list[Slot]]:
        """Sections 6, 7 and 11: at the edge, on a face that leads out of the box, along the
        stacking axis if it is a link's and else not (``Spec.faces``), as asked.

        Medium: 6 faces; 7 pins; 11 faces.
        """
        return slots_of(self.question)

    def _declare_pins(self) -> None:
        at_slot: dict[Slot, list[str]] = {slot: [] for slot in self.geometry.slots()}
        for name, slots in self.slots.items():
            for slot in slots:
                self.formula.declare("pin", name, slot)
                at_slot[slot].append(name)
        self.names_at = {slot: tuple(names) for slot, names in at_slot.items() if names}
        for slot, names in at_slot.items():
            self.a_lead_stands_at_a_wire_joint(slot, names)
            self.a_buffer_stands_at_a_buffer_joint(slot, names)

    def a_lead_stands_at_a_wire_joint(self, slot: Slot, names: Sequence[str]) -> None:
        """Section 6: beyond the face of a pin with wire joint lies its lead.

        Args:
            names: the pins that may sit at ``slot``.

        Medium: 6 leads.
        """
        spec = self.question.spec
        self.formula.define_or(
            "6 leads",
            ("lead", slot),
            [self.pin(n, slot) for n in names if spec.joint(n) is Joint.WIRE],
        )

    def a_buffer_stands_at_a_buffer_joint(self, slot: Slot, names: Sequence[str]) -> None:
        """Sections 6 and 11: beyond the face of a pin with buffer joint stands a buffer; that of
        an input points inwards. In front of the first copy of a row it is that of a link's input.

        Args:
            names: the pins that may sit at ``slot``.

        Medium: 6 outside buffers; 11 first copy.
        """
        spec, rule = self.question.spec, "6 outside buffers"
        buffers = [name for name in names if spec.joint(name) is Joint.BUFFER]
        self.formula.define_or(rule, ("outside buffer", slot), [self.pin(n, slot) for n in buffers])
        self.formula.define_or(
            rule,
            ("inward buffer", slot),
            [self.pin(n, slot) for n in buffers if spec.role(n) is Role.INPUT],
        )

    # Looking up

    def solid(self, cell: Cell) -> int:
        """A solid in ``cell``."""
        return self.formula.literal("solid", cell) if cell in self.geometry.within else FALSE

    def insulator(self, cell: Cell) -> int:
        """A clear or ledge in ``cell``."""
        return self.formula.literal("insulator", cell) if cell in self.geometry.within else FALSE

    def wire(self, cell: Cell) -> int:
        """A wire in ``cell``."""
        return self.formula.literal("wire", cell) if cell in self.geometry.within else FALSE

    def inverter(self, cell: Cell, on: Direction) -> int:
        """An inverter in ``cell`` whose host lies in direction ``on``."""
        if cell not in self.geometry.within:
            return FALSE
        return self.formula.literal("inverter", cell, on)

    def any_inverter(self, cell: Cell) -> int:
        """An inverter in ``cell``, however it hangs."""
        return self.formula.literal("any inverter", cell) if cell in self.geometry.within else FALSE

    def buffer(self, cell: Cell, to: Direction) -> int:
        """A buffer in ``cell`` that points along ``to``."""
        return self.formula.literal("buffer", cell, to) if cell in self.geometry.within else FALSE

    def holds(self, cell: Cell, block: Block) -> int:
        """That block in ``cell``; clear and ledge are one, a buffer's delay is not looked at."""
        if block.part is Part.SOLID:
            return self.solid(cell)
        if block.part in (Part.CLEAR, Part.LEDGE):
            return self.insulator(cell)
        if block.part is Part.WIRE:
            return self.wire(cell)
        assert block.facing is not None
        if block.part is Part.INVERTER:
            return self.inverter(cell, block.facing)
        return self.buffer(cell, block.facing)

    def pin(self, name: str, slot: Slot) -> int:
        """The pin called ``name`` sits at ``slot``."""
        return self.formula.literal("pin", name, slot)

    def lead(self, cell: Cell, face: Direction) -> int:
        """A lead lies beyond that face of ``cell``."""
        return self._at_slot("lead", cell, face)

    def outside_buffer(self, cell: Cell, face: Direction) -> int:
        """The outside buffer of a pin stands beyond that face of ``cell``."""
        return self._at_slot("outside buffer", cell, face)

    def inward_buffer(self, cell: Cell, face: Direction) -> int:
        """The outside buffer of an input stands beyond that face of ``cell``."""
        return self._at_slot("inward buffer", cell, face)

    def _at_slot(self, family: str, cell: Cell, face: Direction) -> int:
        outside = not self.geometry.inside(face.step(cell))
        if not (cell in self.geometry.within and outside):
            return FALSE
        return self.formula.literal(family, Slot(cell, face))

    def choices(self) -> list[int]:
        """Every static variable: a model's values of these are its layout."""
        chosen = []
        for cell in self.cells:
            chosen += [self.solid(cell), self.insulator(cell), self.wire(cell)]
            chosen += [self.inverter(cell, direction) for direction in HOST_DIRECTIONS]
            chosen += [self.buffer(cell, direction) for direction in LEVEL_DIRECTIONS]
        for name, slots in self.slots.items():
            chosen += [self.pin(name, slot) for slot in slots]
        return [literal for literal in chosen if literal not in (TRUE, FALSE)]
