"""The static rules: what may stand where, and where pins may sit (sections 2, 6, 7, 8).

The variables for these choices are declared in ``choices``.
"""

from __future__ import annotations

from synth.encoding.choices import Choices
from synth.encoding.formula import FALSE, Formula
from synth.encoding.geometry import Slot
from synth.encoding.question import Question
from synth.medium import AXES, HOST_DIRECTIONS, LEVEL_DIRECTIONS, Cell, Direction, Joint, Part


class Statics(Choices):
    """The static variables of a question and the rules on them."""

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
        if self.question.spec.chain:
            self.links_meet_in_the_next_copy()
            self.only_links_cross()

    def a_cell_holds_one_part(self) -> None:
        """Section 2: a cell holds one part or is empty.

        Medium: 2 one part.
        """
        for cell in self.cells:
            parts = [self.solid(cell), self.insulator(cell), self.wire(cell)]
            parts += [self.inverter(cell, direction) for direction in HOST_DIRECTIONS]
            parts += [self.buffer(cell, direction) for direction in LEVEL_DIRECTIONS]
            self.formula.at_most_one("2 one part", parts)

    def wires_and_buffers_need_support(self) -> None:
        """Sections 2, 7 and 8: a wire stands on a cube or shelf, a buffer on a solid or ledge.

        The insulator under a buffer is named ledge when the model is decoded; a cell fixed as
        clear bears no buffer (``cells_hold_what_is_asked``). What lies outside the box, a part of
        another copy included, supports nothing.

        Medium: 2 supports; 7 hosts; 8 ground.
        """
        for cell in self.cells:
            if self.geometry.supports_at_floor(cell):
                continue
            below = Direction.NZ.step(cell)
            support = [self.solid(below), self.insulator(below)]
            for part in self._standing(cell):
                self.formula.add("2 supports", [-part, *support])

    def _standing(self, cell: Cell) -> list[int]:
        buffers = [self.buffer(cell, direction) for direction in LEVEL_DIRECTIONS]
        return [self.wire(cell), *buffers]

    def hosts_are_solid(self) -> None:
        """Section 2: the host of an inverter is a solid inside the box.

        Medium: 2 hosts.
        """
        for cell in self.cells:
            for direction in HOST_DIRECTIONS:
                host = self.solid(direction.step(cell))
                self.formula.imply("2 hosts", [self.inverter(cell, direction)], host)

    def cells_hold_what_is_asked(self) -> None:
        """The cells the specification keeps empty or fixes: no rule of the medium."""
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
        """Section 6: every pin of the specification sits on one face at the edge of the box.

        Medium: 6 faces.
        """
        for name, slots in self.slots.items():
            places = [self.pin(name, slot) for slot in slots]
            self.formula.add("6 faces", places)
            self.formula.at_most_one("6 faces", places)

    def a_face_carries_one_pin(self) -> None:
        """Section 6: one face carries at most one pin.

        Medium: 6 one a face.
        """
        for slot, names in self.names_at.items():
            pins = [self.pin(name, slot) for name in names]
            self.formula.at_most_one("6 one a face", pins)

    def pins_keep_their_distance(self) -> None:
        """Section 6: the spacing of pins on one side, the copies of a stack included.

        Medium: 6 distances.
        """
        rule = "6 distances"
        pairs = [(name, slot) for name, slots in self.slots.items() for slot in slots]
        for index, (name, slot) in enumerate(pairs):
            if self.too_near(name, slot, name, slot):
                self.formula.add(rule, [-self.pin(name, slot)])
            for other_name, other in pairs[index + 1 :]:
                if name != other_name and self.too_near(name, slot, other_name, other):
                    self.formula.add(rule, [-self.pin(name, slot), -self.pin(other_name, other)])

    def too_near(self, name: str, slot: Slot, other_name: str, other: Slot) -> bool:
        """Sections 6 and 11: two pins break the spacing, in one copy or between any two of a stack.

        Pins of links count as of joint buffer.

        Medium: 6 distances; 11 distances.
        """
        if slot.face is not other.face:
            return False
        spec = self.question.spec
        both_wires = all(
            spec.joint(one) is Joint.WIRE or spec.pins[one].spaced for one in (name, other_name)
        )
        lanes = slot.lane - other.lane
        heights = slot.height - other.height
        for lane_shift, height_shift in self.copy_shifts(slot.face):
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

    def copy_shifts(self, face: Direction) -> list[tuple[int, int]]:
        """Section 6: how far the pins of each copy are off, as (lane, height), itself included.

        Spacing asks for two cells, so copies more than two boxes away never matter: a pitch
        is at least the size of the box.

        Medium: 6 distances of copies.
        """
        if self.geometry.axis is None or self.geometry.axis == face.axis:
            return [(0, 0)]
        shifts = [copies * self.geometry.pitch for copies in range(-2, 3)]
        if self.geometry.axis == "z":
            return [(0, shift) for shift in shifts]
        return [(shift, 0) for shift in shifts]

    def no_buffer_is_held(self) -> None:
        """Section 5: the synthesiser makes no buffer with a buffer pointing into its side.

        Medium: 5 none held.
        """
        for cell, direction, holder in self.holders():
            buffer = self.buffer(cell, direction)
            self.formula.add("5 none held", [-buffer, -holder])

    def holders(self) -> list[tuple[Cell, Direction, int]]:
        """Section 5: every (cell, direction, literal): the literal's buffer would hold that buffer.

        Medium: 5 none held; 5 held settle.
        """
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
        """Section 7: no wire of one copy is linked to a wire of another, leads included.

        Medium: 7 links.
        """
        rule = "7 links"
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
        """Section 7: no inverter of one copy has a wire of another beside or below it.

        Medium: 7 inverters.
        """
        for cell in self.cells:
            for direction in (*LEVEL_DIRECTIONS, Direction.NZ):
                other = self.geometry.in_other_copy(direction.step(cell))
                if other is not None:
                    inverter, wire = self.any_inverter(cell), self.wire(other)
                    self.formula.add("7 inverters", [-inverter, -wire])

    def links_meet_in_the_next_copy(self) -> None:
        """Section 11: a link's output has a buffer of delay 1 along +A in its cell, at the +A end,
        and its input the cell at the -A end with the same two other coordinates.

        Medium: 11 places.
        """
        rule = "11 places"
        for link in self.question.spec.chain:
            for slot in self.slots[link.output]:
                pin = self.pin(link.output, slot)
                buffer = self.buffer(slot.cell, slot.face)
                self.formula.add(rule, [-pin, buffer if self.delays.get(slot.cell) == 1 else FALSE])
                self._meets(pin, link.input, slot)
            for slot in self.slots[link.input]:
                self._meets(self.pin(link.input, slot), link.output, slot)

    def _meets(self, pin: int, other: str, slot: Slot) -> None:
        """A pin at a slot needs the other of its link at the other end of the box."""
        face = slot.face.opposite
        meeting = [
            self.pin(other, place)
            for place in self.slots[other]
            if self._across(place) == self._across(slot) and place.face is face
        ]
        self.formula.add("11 places", [-pin, *meeting])

    def _across(self, slot: Slot) -> tuple[int, int]:
        """The coordinates of a slot but that along its face."""
        return (slot.lane, slot.height)

    def only_links_cross(self) -> None:
        """Section 11: a buffer with its front or back in another copy is at a link's pin.

        Medium: 11 strange.
        """
        for cell in self.cells:
            for to in LEVEL_DIRECTIONS:
                buffer = self.buffer(cell, to)
                for face in (to, to.opposite) if buffer != FALSE else ():
                    if self.geometry.in_other_copy(face.step(cell)) is not None:
                        slot = Slot(cell, face)
                        pins = [self.pin(name, slot) for name in self.linking(slot, to)]
                        self.formula.add("11 strange", [-buffer, *pins])


def impossible_outright(question: Question) -> str | None:
    """Why section 7 rules the question out before any formula, or None."""
    if upwards_from_ground(question):
        return "a layout on ground does not stack along z"
    if pitch_below_size(question):
        return "the pitch is below the size of the box on the stacking axis"
    return None


def upwards_from_ground(question: Question) -> bool:
    """Section 7: a layout on ground would stack along z.

    Medium: 7 ground.
    """
    return question.geometry.axis == "z" and question.geometry.ground


def pitch_below_size(question: Question) -> bool:
    """Section 7: the pitch is below the size of the box on the stacking axis.

    Medium: 7 pitch.
    """
    geometry = question.geometry
    return geometry.axis is not None and geometry.pitch < geometry.size[AXES.index(geometry.axis)]


def rule_out_impossible_stacks(formula: Formula, question: Question) -> None:
    """Section 7: no layout at all where ``impossible_outright`` says why."""
    if impossible_outright(question):
        formula.add("7 ground" if upwards_from_ground(question) else "7 pitch", [])
