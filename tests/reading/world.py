"""Wires and power: sections 3, 4 and 6 of ``medium.md`` read literally, sentence by sentence."""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import cached_property

from synth.layout import Layout
from synth.medium import (
    ALL_DIRECTIONS,
    DEFAULT_RULES,
    LEDGE,
    LEVEL_DIRECTIONS,
    WIRE,
    Block,
    Cell,
    Direction,
    Joint,
    Part,
    Role,
    Rules,
    buffer,
)
from tests.reading.legal import DOWN, UP, along, facing, plus


@dataclass(frozen=True)
class Power:
    """Section 4 at one instant: strengths of wires, driven solids, charged solids."""

    strength: dict[Cell, int]
    driven: set[Cell]
    charged: set[Cell]


@dataclass(frozen=True)
class World:
    """All parts of a row of copies, those outside the pins included, as one dictionary.

    Attributes:
        parts: what stands in each cell.
        owner: which copy each part belongs to.
        leads: for each lead the direction away from its box.
        inputs: what stands outside each input pin, by copy and name.
        outputs: what stands outside each output pin, by copy and name.
        rules: the rule table.
        sending: the cell of each link's output, by copy and name (section 11).
    """

    parts: dict[Cell, Block]
    owner: dict[Cell, int]
    leads: dict[Cell, Direction]
    inputs: dict[tuple[int, str], Cell]
    outputs: dict[tuple[int, str], Cell]
    rules: Rules
    sending: dict[tuple[int, str], Cell] = field(default_factory=dict)

    def holds(self, cell: Cell, part: Part) -> bool:
        """Whether the cell holds that part."""
        block = self.parts.get(cell)
        return block is not None and block.part is part

    def points(self, cell: Cell, to: Direction) -> bool:
        """Whether the cell holds a buffer that points along ``to``."""
        return self.holds(cell, Part.BUFFER) and self.parts[cell].facing is to

    def of(self, part: Part) -> list[Cell]:
        """The cells that hold that part, those outside the box included."""
        return [cell for cell, block in self.parts.items() if block.part is part]

    @cached_property
    def acting(self) -> list[Cell]:
        """Inverters and buffers with an output of their own: not those outside the boxes."""
        outside = {*self.inputs.values(), *self.outputs.values()}
        both = self.of(Part.INVERTER) + self.of(Part.BUFFER)
        return [cell for cell in both if cell not in outside]

    def climbs(self, p: Cell, direction: Direction) -> Cell | None:
        """The wire one step along ``direction`` and one up that wire ``p`` is linked to."""
        # "wire p, and wire q one level step and one step up from p, provided the cell above p
        # is not solid (nothing else there stops it)"
        q = UP.step(direction.step(p))
        linked = self.holds(q, Part.WIRE) and not self.holds(UP.step(p), Part.SOLID)
        return q if linked else None

    def descends(self, q: Cell, direction: Direction) -> Cell | None:
        """The wire one step along ``direction`` and one down that wire ``q`` is linked to."""
        p = DOWN.step(direction.step(q))
        linked = self.holds(p, Part.WIRE) and not self.holds(UP.step(p), Part.SOLID)
        return p if linked else None

    def links(self, wire: Cell) -> list[Cell]:
        """The wires that a wire is linked to, whichever way the strength can run."""
        found = []
        for direction in LEVEL_DIRECTIONS:
            # "Two wires are linked when they are level neighbours, or one step apart diagonally"
            beside = direction.step(wire)
            if self.holds(beside, Part.WIRE):
                found.append(beside)
            for cell in (self.climbs(wire, direction), self.descends(wire, direction)):
                if cell is not None:
                    found.append(cell)
        return found

    @cached_property
    def receives(self) -> dict[Cell, list[Cell]]:
        """For each wire, the linked wires it can receive from."""
        return {wire: self._receives(wire) for wire in self.of(Part.WIRE)}

    def _receives(self, wire: Cell) -> list[Cell]:
        found = []
        for direction in LEVEL_DIRECTIONS:
            beside = direction.step(wire)
            if self.holds(beside, Part.WIRE):
                found.append(beside)  # "Between level neighbours strength runs both ways."
            lower = self.descends(wire, direction)
            if lower is not None:
                found.append(lower)  # "On a diagonal it always climbs from p to q"
            upper = self.climbs(wire, direction)
            # "it descends from q to p only if the cell below q is solid"
            if upper is not None and self.holds(DOWN.step(upper), Part.SOLID):
                found.append(upper)
        return found

    def connects(self, wire: Cell, direction: Direction) -> bool:
        """Section 3: "A wire connects towards level direction d when any of these holds"."""
        beside = direction.step(wire)
        # "its level neighbour in direction d is a wire, an inverter (however it hangs), or a
        # buffer that points along d or against d"
        if self.holds(beside, Part.WIRE) or self.holds(beside, Part.INVERTER):
            return True
        if self.points(beside, direction) or self.points(beside, direction.opposite):
            return True
        # "it is linked to a wire one step up or one step down in direction d"
        if self.climbs(wire, direction) is not None or self.descends(wire, direction) is not None:
            return True
        # "it is a lead, and d leads away from the box"
        return self.leads.get(wire) is direction

    def runs(self, wire: Cell) -> set[Direction]:
        """Section 3: "A wire runs towards a set of level directions"."""
        towards = {d for d in LEVEL_DIRECTIONS if self.connects(wire, d)}
        if len(towards) >= 2:
            return towards  # "those it connects to if there are two or more"
        if len(towards) == 1:
            # "if it connects to exactly one, that one and the opposite one"
            return towards | {d.opposite for d in towards}
        return set(LEVEL_DIRECTIONS)  # "if it connects to none, all four"

    @cached_property
    def drivers(self) -> dict[Cell, list[Cell]]:
        """For each solid, what drives it while it is on."""
        found = {}
        for solid in self.of(Part.SOLID):
            # "the cell below it holds an inverter that is on (standing or hanging)"
            below = DOWN.step(solid)
            found[solid] = [below] if self.holds(below, Part.INVERTER) else []
            # "a level neighbour is a buffer that is on and points into it"
            found[solid] += self._pointing_into(solid)
        return found

    def _pointing_into(self, cell: Cell) -> list[Cell]:
        beside = [(d.step(cell), d.opposite) for d in LEVEL_DIRECTIONS]
        return [neighbour for neighbour, to in beside if self.points(neighbour, to)]

    @cached_property
    def chargers(self) -> dict[Cell, list[Cell]]:
        """For each solid, the wires that charge it while their strength is above 0."""
        runs = {wire: self.runs(wire) for wire in self.of(Part.WIRE)}
        found = {}
        for solid in self.of(Part.SOLID):
            # "the cell above it is a wire of strength above 0"
            above = UP.step(solid)
            found[solid] = [above] if self.holds(above, Part.WIRE) else []
            # "a level neighbour is a wire of strength above 0 that runs towards it"
            for direction in LEVEL_DIRECTIONS:
                beside = direction.step(solid)
                if beside in runs and direction.opposite in runs[beside]:
                    found[solid].append(beside)
        return found

    @cached_property
    def sources(self) -> dict[Cell, list[Cell]]:
        """For each wire, the inverters and buffers that give it ``reach`` while they are on."""
        found = {}
        for wire in self.of(Part.WIRE):
            # "a level neighbour, or the cell above it, is an inverter that is on"
            near = [d.step(wire) for d in (*LEVEL_DIRECTIONS, UP)]
            found[wire] = [cell for cell in near if self.holds(cell, Part.INVERTER)]
            # "a level neighbour is a buffer that is on and points into it"
            found[wire] += self._pointing_into(wire)
            # "it is the lead of an input that is on"
            found[wire].append(wire)
        return found

    @cached_property
    def solids_beside(self) -> dict[Cell, list[Cell]]:
        """For each wire, its six neighbours that are solids."""
        return {
            wire: [d.step(wire) for d in ALL_DIRECTIONS if self.holds(d.step(wire), Part.SOLID)]
            for wire in self.of(Part.WIRE)
        }

    @cached_property
    def _known(self) -> dict[tuple[frozenset[Cell], int], Power]:
        return {}

    def power(self, on: frozenset[Cell], loss: int = 1) -> Power:
        """Section 4, "the least solution": from nothing upwards until nothing is added.

        ``on`` names the inverters and buffers that are on, and the leads of inputs that are;
        ``loss`` is what a strength loses from wire to wire.
        """
        if (on, loss) not in self._known:
            self._known[on, loss] = self._power(on, loss)
        return self._known[on, loss]

    def _power(self, on: frozenset[Cell], loss: int) -> Power:
        driven = {s for s, causes in self.drivers.items() if any(c in on for c in causes)}
        strength = {}
        for wire in self.receives:
            # "one of its six neighbours is a driven solid (charged is not enough)"
            full = any(solid in driven for solid in self.solids_beside[wire])
            full = full or any(cell in on for cell in self.sources[wire])
            strength[wire] = self.rules.reach if full else 0
        changed = True
        while changed:
            changed = False
            for wire, others in self.receives.items():
                # "else the largest (strength - 1) over the linked wires it can receive from"
                for other in others:
                    if strength[other] - loss > strength[wire]:
                        strength[wire] = strength[other] - loss
                        changed = True
        charged = set(driven)  # "A solid is charged when it is driven, or ..."
        for solid, wires in self.chargers.items():
            if any(strength[wire] > 0 for wire in wires):
                charged.add(solid)
        return Power(strength, driven, charged)

    def host_charged(self, cell: Cell, power: Power) -> bool:
        """ "An inverter sees its host charged or not." """
        return facing(self.parts[cell]).step(cell) in power.charged

    def sees(self, cell: Cell, power: Power, on: frozenset[Cell]) -> bool:
        """Section 4: "A buffer sees power when its back is: ..."."""
        to = facing(self.parts[cell])
        back = to.opposite.step(cell)
        return (
            power.strength.get(back, 0) > 0  # "a wire of strength above 0"
            or back in power.charged  # "a charged solid"
            or (self.holds(back, Part.INVERTER) and back in on)  # "an inverter that is on"
            or (
                self.points(back, to) and back in on
            )  # "a buffer that is on and points the same way"
        )

    @cached_property
    def holders(self) -> dict[Cell, list[Cell]]:
        """For each buffer, the buffers at its sides that point into it."""
        return {
            cell: [
                d.step(cell)
                for d in facing(self.parts[cell]).sides
                if self.points(d.step(cell), d.opposite)
            ]
            for cell in self.of(Part.BUFFER)
        }

    def reads(self, output: Cell, power: Power, on: frozenset[Cell]) -> bool:
        """Section 6: what an output pin reads, by what stands outside it."""
        if self.holds(output, Part.WIRE):
            # "An output reads on when its lead has strength above 0."
            return power.strength[output] > 0
        return self.sees(output, power, on)  # "the pin reads on when it sees power"


def stand(layout: Layout, copies: int = 1, rules: Rules = DEFAULT_RULES) -> World:
    """The world of a legal layout, or of a row of copies of it along its stacking axis."""
    world = World({}, {}, {}, {}, {}, rules)
    for copy in range(copies):
        shift = (0, 0, 0)
        if copy:
            assert layout.stack is not None
            shift = along("xyz".index(layout.stack.axis), copy * layout.stack.pitch)
        stands = {plus(cell, shift): block for cell, block in layout.cells.items()}
        for pin in layout.pins:
            outside = plus(pin.outside, shift)
            # "beyond the face, on a ledge, lies a wire" / "on a ledge, stands a buffer"; "The
            # ledge is there at height -1 too"
            stands[DOWN.step(outside)] = LEDGE
            if pin.joint is Joint.WIRE:
                stands[outside] = WIRE
                world.leads[outside] = pin.face
            elif pin.role is Role.INPUT:
                stands[outside] = buffer(pin.face.opposite)  # "For an input it points inwards"
            else:
                stands[outside] = buffer(pin.face)  # "For an output it points outwards"
            pins = world.inputs if pin.role is Role.INPUT else world.outputs
            pins[copy, pin.name] = outside
        assert not world.parts.keys() & stands.keys(), "copies overlap"
        world.parts.update(stands)
        world.owner.update(dict.fromkeys(stands, copy))
    return world
