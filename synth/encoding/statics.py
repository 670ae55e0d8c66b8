"""The static choices: which part each cell holds, where each pin sits (sections 2, 6, 7, 8).

``clear`` and ``ledge`` are one *insulator* here; decoding names it by what rests on it.
"""

from __future__ import annotations

from synth.encoding.formula import FALSE, TRUE, Formula
from synth.encoding.geometry import Geometry, Slot
from synth.encoding.question import Question
from synth.medium import (
    AXES,
    HOST_DIRECTIONS,
    LEVEL_DIRECTIONS,
    Block,
    Cell,
    Direction,
    Joint,
    Part,
    Role,
)


class Statics:
    """Declares the static variables of a question and states the rules on them.

    The look-ups (``solid``, ``wire``...) answer for any cell: outside the box nothing is
    there, so they give the false literal.
    """

    def __init__(self, formula: Formula, question: Question) -> None:
        self.formula = formula
        self.question = question
        self.geometry: Geometry = question.geometry
        self.cells = self.geometry.cells
        self.slots = self._admissible_slots()
        self.delays = {cell: self._delay_of(cell) for cell in self.cells}
        self._declare_parts()
        self._declare_pins()

    # Declaring

    def _delay_of(self, cell: Cell) -> int:
        """Ticks of a buffer in ``cell``.

        A longer delay never settles sooner, so the shortest one of the rule table serves,
        except where the specification fixes a buffer.
        """
        block = self.question.spec.fixed.get(cell)
        if block is not None and block.part is Part.BUFFER:
            return block.delay
        return self.question.rules.buffer_delays[0]

    def _declare_parts(self) -> None:
        for cell in self.cells:
            self.formula.declare("solid", cell)
            self.formula.declare("insulator", cell)
            floating = cell[2] == 0 and not self.geometry.ground
            self._declare_unless(floating, "wire", cell)
            for direction in HOST_DIRECTIONS:
                hostless = not self.geometry.inside(direction.step(cell))
                self._declare_unless(hostless, "inverter", cell, direction)
            for direction in LEVEL_DIRECTIONS:
                barred = floating or self._buffer_crosses(cell, direction)
                self._declare_unless(barred, "buffer", cell, direction)
            self.formula.define_or(
                "an inverter is one of its hangings",
                ("any inverter", cell),
                [self.inverter(cell, direction) for direction in HOST_DIRECTIONS],
            )

    def _declare_unless(self, barred: bool, family: str, *key: Cell | Direction) -> None:
        if barred:
            self.formula.alias(FALSE, family, *key)
        else:
            self.formula.declare(family, *key)

    def _buffer_crosses(self, cell: Cell, direction: Direction) -> bool:
        """Whether a buffer there would have its back or front in another copy (section 7)."""
        ends = (direction.step(cell), direction.opposite.step(cell))
        return any(self.geometry.in_other_copy(end) is not None for end in ends)

    def _admissible_slots(self) -> dict[str, list[Slot]]:
        spec = self.question.spec
        slots = self.geometry.slots()
        return {
            name: [
                slot
                for slot in slots
                if slot.face in spec.faces(name)
                and (spec.pins[name].at is None or slot.cell == spec.pins[name].at)
            ]
            for name in spec.pin_names
        }

    def _declare_pins(self) -> None:
        spec = self.question.spec
        at_slot: dict[Slot, list[str]] = {slot: [] for slot in self.geometry.slots()}
        for name, slots in self.slots.items():
            for slot in slots:
                self.formula.declare("pin", name, slot)
                at_slot[slot].append(name)
        self.names_at = {slot: tuple(names) for slot, names in at_slot.items() if names}
        for slot in at_slot:
            names = at_slot[slot]
            self.formula.define_or(
                "a lead stands where a pin with wire joint is",
                ("lead", slot),
                [self.pin(n, slot) for n in names if spec.joint(n) is Joint.WIRE],
            )
            self.formula.define_or(
                "an outside buffer stands where a pin with buffer joint is",
                ("outside buffer", slot),
                [self.pin(n, slot) for n in names if spec.joint(n) is Joint.BUFFER],
            )
            self.formula.define_or(
                "an outside buffer of an input points inwards",
                ("inward buffer", slot),
                [
                    self.pin(n, slot)
                    for n in names
                    if spec.joint(n) is Joint.BUFFER and spec.role(n) is Role.INPUT
                ],
            )

    # Looking up

    def solid(self, cell: Cell) -> int:
        """A solid in ``cell``."""
        return self.formula.literal("solid", cell) if self.geometry.inside(cell) else FALSE

    def insulator(self, cell: Cell) -> int:
        """A clear or ledge in ``cell``."""
        return self.formula.literal("insulator", cell) if self.geometry.inside(cell) else FALSE

    def wire(self, cell: Cell) -> int:
        """A wire in ``cell``."""
        return self.formula.literal("wire", cell) if self.geometry.inside(cell) else FALSE

    def inverter(self, cell: Cell, on: Direction) -> int:
        """An inverter in ``cell`` whose host lies in direction ``on``."""
        if not self.geometry.inside(cell):
            return FALSE
        return self.formula.literal("inverter", cell, on)

    def any_inverter(self, cell: Cell) -> int:
        """An inverter in ``cell``, however it hangs."""
        return self.formula.literal("any inverter", cell) if self.geometry.inside(cell) else FALSE

    def buffer(self, cell: Cell, to: Direction) -> int:
        """A buffer in ``cell`` that points along ``to``."""
        return self.formula.literal("buffer", cell, to) if self.geometry.inside(cell) else FALSE

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
        if not (self.geometry.inside(cell) and outside):
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

    # Rules

    def state(self) -> None:
        """State every static rule."""
        self.a_cell_holds_one_part()
        self.wires_and_buffers_need_support()
        self.hosts_are_solid()
        self.cells_hold_what_is_asked()
        self.each_pin_sits_in_one_place()
        self.a_face_carries_one_pin()
        self.pins_keep_their_distance()
        if not self.question.allow_held:
            self.no_buffer_is_held()
        if self.geometry.axis is not None:
            self.no_link_between_copies()
            self.no_inverter_beside_a_wire_of_another_copy()

    def a_cell_holds_one_part(self) -> None:
        """Section 2: a cell holds one part or is empty."""
        for cell in self.cells:
            parts = [self.solid(cell), self.insulator(cell), self.wire(cell)]
            parts += [self.inverter(cell, direction) for direction in HOST_DIRECTIONS]
            parts += [self.buffer(cell, direction) for direction in LEVEL_DIRECTIONS]
            self.formula.at_most_one("a cell holds one part", parts)

    def wires_and_buffers_need_support(self) -> None:
        """Sections 2 and 8: a wire stands on a cube or shelf, a buffer on a solid or ledge.

        The insulator under a buffer is named ledge when the model is decoded; a cell fixed as
        clear bears no buffer (``cells_hold_what_is_asked``).
        """
        for cell in self.cells:
            if self.geometry.supports_at_floor(cell):
                continue
            below = Direction.NZ.step(cell)
            support = [self.solid(below), self.insulator(below)]
            for part in self._standing(cell):
                self.formula.add("a wire or buffer has a support", [-part, *support])

    def _standing(self, cell: Cell) -> list[int]:
        buffers = [self.buffer(cell, direction) for direction in LEVEL_DIRECTIONS]
        return [self.wire(cell), *buffers]

    def hosts_are_solid(self) -> None:
        """Section 2: the host of an inverter is a solid inside the box."""
        for cell in self.cells:
            for direction in HOST_DIRECTIONS:
                host = self.solid(direction.step(cell))
                self.formula.imply("a host is solid", [self.inverter(cell, direction)], host)

    def cells_hold_what_is_asked(self) -> None:
        """The cells the specification keeps empty or fixes."""
        rule = "cells hold what is asked"
        spec = self.question.spec
        for cell in sorted(spec.empty):
            parts = [self.solid(cell), self.insulator(cell), self.any_inverter(cell)]
            for part in [*parts, *self._standing(cell)]:
                self.formula.add(rule, [-part])
        for cell, block in sorted(spec.fixed.items()):
            self.formula.add(rule, [self.holds(cell, block)])
            if block.part is Part.CLEAR:
                for direction in LEVEL_DIRECTIONS:
                    self.formula.add(rule, [-self.buffer(Direction.PZ.step(cell), direction)])

    def each_pin_sits_in_one_place(self) -> None:
        """Section 6: every pin of the specification sits somewhere, and only there."""
        for name, slots in self.slots.items():
            places = [self.pin(name, slot) for slot in slots]
            self.formula.add("a pin sits in one place", places)
            self.formula.at_most_one("a pin sits in one place", places)

    def a_face_carries_one_pin(self) -> None:
        """Section 6: one face carries at most one pin."""
        for slot, names in self.names_at.items():
            pins = [self.pin(name, slot) for name in names]
            self.formula.at_most_one("a face carries one pin", pins)

    def pins_keep_their_distance(self) -> None:
        """Section 6: the spacing of pins on one side, the copies of a stack included."""
        rule = "pins keep their distance"
        pairs = [(name, slot) for name, slots in self.slots.items() for slot in slots]
        for index, (name, slot) in enumerate(pairs):
            if self._too_near(name, slot, name, slot):
                self.formula.add(rule, [-self.pin(name, slot)])
            for other_name, other in pairs[index + 1 :]:
                if name != other_name and self._too_near(name, slot, other_name, other):
                    self.formula.add(rule, [-self.pin(name, slot), -self.pin(other_name, other)])

    def _too_near(self, name: str, slot: Slot, other_name: str, other: Slot) -> bool:
        """Whether two pins break the spacing, in one copy or between any two of a stack."""
        if slot.face is not other.face:
            return False
        spec = self.question.spec
        joints = (spec.joint(name), spec.joint(other_name))
        both_wires = joints == (Joint.WIRE, Joint.WIRE)
        lanes = slot.lane - other.lane
        heights = slot.height - other.height
        for lane_shift, height_shift in self._copy_shifts(slot.face):
            itself = (name, slot) == (other_name, other)
            same_copy = lane_shift == height_shift == 0
            if same_copy and (itself or slot == other):
                continue
            lane_gap, height_gap = abs(lanes + lane_shift), abs(heights + height_shift)
            if height_gap >= 2:
                continue
            if lane_gap == 0 or (both_wires and lane_gap < 2):
                return True
        return False

    def _copy_shifts(self, face: Direction) -> list[tuple[int, int]]:
        """How far another copy's pins are off, as (lane, height), the copy itself included.

        Spacing asks for two cells, so copies more than two boxes away never matter: a pitch
        is at least the size of the box.
        """
        if self.geometry.axis is None or self.geometry.axis == face.axis:
            return [(0, 0)]
        shifts = [copies * self.geometry.pitch for copies in range(-2, 3)]
        if self.geometry.axis == "z":
            return [(0, shift) for shift in shifts]
        return [(shift, 0) for shift in shifts]

    def no_buffer_is_held(self) -> None:
        """Section 5: the synthesiser makes no buffer with a buffer pointing into its side."""
        for cell, direction, holder in self.holders():
            buffer = self.buffer(cell, direction)
            self.formula.add("no buffer is held", [-buffer, -holder])

    def holders(self) -> list[tuple[Cell, Direction, int]]:
        """Every (cell, direction, literal): the literal's buffer would hold that buffer."""
        found = []
        for cell in self.cells:
            for direction in LEVEL_DIRECTIONS:
                if self.buffer(cell, direction) == FALSE:
                    continue
                for side in direction.sides:
                    beside = self.buffer(side.step(cell), side.opposite)
                    found.append((cell, direction, beside))
                    found.append((cell, direction, self.inward_buffer(cell, side)))
        return [item for item in found if item[2] != FALSE]

    def no_link_between_copies(self) -> None:
        """Section 7: no wire of one copy is linked to a wire of another, leads included."""
        rule = "no link between copies"
        for cell in self.cells:
            for direction in LEVEL_DIRECTIONS:
                beside = self.geometry.in_other_copy(direction.step(cell))
                if beside is not None:
                    self.formula.add(rule, [-self.wire(cell), -self.wire(beside)])
                above = self.geometry.in_other_copy(Direction.PZ.step(direction.step(cell)))
                if above is not None and self.geometry.axis != "z":
                    cut = self.solid(Direction.PZ.step(cell))
                    self.formula.add(rule, [-self.wire(cell), -self.wire(above), cut])
                below = self.geometry.in_other_copy(Direction.NZ.step(cell))
                if below is not None:
                    # The wire under the lowest cell of the next copy up climbs to the lead there.
                    lead = self.lead(cell, direction)
                    self.formula.add(rule, [-self.wire(below), -lead, self.solid(cell)])

    def no_inverter_beside_a_wire_of_another_copy(self) -> None:
        """Section 7: no inverter of one copy has a wire of another beside or below it."""
        for cell in self.cells:
            for direction in (*LEVEL_DIRECTIONS, Direction.NZ):
                other = self.geometry.in_other_copy(direction.step(cell))
                if other is not None:
                    self.formula.add(
                        "no inverter beside a wire of another copy",
                        [-self.any_inverter(cell), -self.wire(other)],
                    )


def impossible_outright(question: Question) -> str | None:
    """Why section 7 rules the question out before any formula, or None.

    The pitch may not be below the size, and a layout on ground does not stack along z.
    """
    geometry = question.geometry
    if geometry.axis is None:
        return None
    if geometry.axis == "z" and geometry.ground:
        return "a layout on ground does not stack along z"
    if geometry.pitch < geometry.size[AXES.index(geometry.axis)]:
        return "the pitch is below the size of the box on the stacking axis"
    return None
