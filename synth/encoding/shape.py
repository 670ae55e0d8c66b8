"""Who touches a wire: links, and the directions a wire runs towards (section 3).

All of it is static and defined exactly, both ways, because a direction that a wire does *not*
connect to can make it run somewhere else.
"""

from __future__ import annotations

from typing import NamedTuple

from synth.encoding.formula import FALSE, Formula
from synth.encoding.geometry import Slot
from synth.encoding.statics import Statics
from synth.medium import LEVEL_DIRECTIONS, Cell, Direction

Node = Cell | Slot
"""A place for a wire: a cell of the box, or a slot for a lead."""


class Link(NamedTuple):
    """Strength may run from ``source`` to ``target`` where ``literal`` is true."""

    source: Node
    target: Node
    literal: int


class Shape:
    """Declares links, connections and runs of a question's wires and defines them."""

    def __init__(self, formula: Formula, statics: Statics) -> None:
        self.formula = formula
        self.statics = statics
        self.links: list[Link] = []
        self.level_neighbours_are_linked()
        self.steps_are_linked()
        self.leads_are_linked()
        self.wires_connect()
        self.wires_run()
        self.into: dict[Node, list[Link]] = {node: [] for node in self.nodes()}
        for link in self.links:
            self.into[link.target].append(link)

    def nodes(self) -> list[Node]:
        """Every cell that may hold a wire and every slot that may hold a lead."""
        statics = self.statics
        cells: list[Node] = [cell for cell in statics.cells if statics.wire(cell) != FALSE]
        slots: list[Node] = [slot for slot in statics.names_at if statics.lead(*slot) != FALSE]
        return cells + slots

    def presence(self, node: Node) -> int:
        """The literal that says that there is a wire (or lead) at a node."""
        return self.statics.lead(*node) if isinstance(node, Slot) else self.statics.wire(node)

    def runs(self, cell: Cell, direction: Direction) -> int:
        """There is a wire in ``cell`` and it runs towards ``direction``."""
        if cell not in self.statics.geometry.within:
            return FALSE
        return self.formula.literal("runs", cell, direction)

    def _link(self, source: Node, target: Node, literal: int) -> None:
        if literal != FALSE:
            self.links.append(Link(source, target, literal))

    def level_neighbours_are_linked(self) -> None:
        """Section 3: two wires that are level neighbours are linked, both ways.

        Medium: 3 level links.
        """
        for cell in self.statics.cells:
            for direction in (Direction.PX, Direction.PY):
                other = direction.step(cell)
                literal = self.formula.define_and(
                    "3 level links",
                    ("level", cell, direction),
                    [self.statics.wire(cell), self.statics.wire(other)],
                )
                self._link(cell, other, literal)
                self._link(other, cell, literal)

    def steps_are_linked(self) -> None:
        """Section 3: the links of wires one step apart diagonally, with the ways strength runs."""
        for lower in self.statics.cells:
            for direction in LEVEL_DIRECTIONS:
                upper = Direction.PZ.step(direction.step(lower))
                climb = self.climbs(lower, direction, upper)
                descend = self.descends(lower, direction, climb)
                self._link(lower, upper, climb)
                self._link(upper, lower, descend)

    def climbs(self, lower: Cell, direction: Direction, upper: Cell) -> int:
        """Section 3: a wire and one a step up are linked unless a solid lies over the lower one.

        Strength always climbs along the link.

        Medium: 3 climbing.
        """
        return self.formula.define_and(
            "3 climbing",
            ("step", lower, direction),
            [
                self.statics.wire(lower),
                self.statics.wire(upper),
                -self.statics.solid(Direction.PZ.step(lower)),
            ],
        )

    def descends(self, lower: Cell, direction: Direction, climb: int) -> int:
        """Section 3: strength descends along a link if the upper wire stands on a solid.

        Medium: 3 descending.
        """
        return self.formula.define_and(
            "3 descending",
            ("descent", lower, direction),
            [climb, self.statics.solid(direction.step(lower))],
        )

    def leads_are_linked(self) -> None:
        """Section 6: the links of a lead with the wires at, on top of and below its pin's cell.

        Nothing lies above a lead, and it stands on a ledge: it climbs to a wire on top of
        the cell always, it never descends to one below.

        Medium: 6 leads give; 6 leads receive.
        """
        statics = self.statics
        for slot in statics.names_at:
            cell, face = slot
            lead = statics.lead(cell, face)
            above, below = Direction.PZ.step(cell), Direction.NZ.step(cell)
            given, received = "6 leads give", "6 leads receive"
            level = self.formula.define_and(given, ("lead level", slot), [lead, statics.wire(cell)])
            self._link(slot, cell, level)
            self._link(cell, slot, level)
            climb = self.formula.define_and(
                given, ("lead climbs", slot), [lead, statics.wire(above)]
            )
            self._link(slot, above, climb)
            descend = self.formula.define_and(
                received, ("lead powered from above", slot), [climb, statics.solid(cell)]
            )
            self._link(above, slot, descend)
            from_below = self.formula.define_and(
                received,
                ("lead powered from below", slot),
                [lead, statics.wire(below), -statics.solid(cell)],
            )
            self._link(below, slot, from_below)

    def _step_literal(self, lower: Cell, direction: Direction) -> int:
        if lower not in self.statics.geometry.within:
            return FALSE
        return self.formula.literal("step", lower, direction)

    def _lead_literal(self, family: str, cell: Cell, face: Direction) -> int:
        slot = Slot(cell, face)
        if slot not in self.statics.names_at:
            return FALSE
        return self.formula.literal(family, slot)

    def wires_connect(self) -> None:
        """Section 3: what a wire in a cell would connect towards.

        Across the border of a stack it connects to nothing: section 7 bars the wires,
        inverters and buffers of another copy that it could connect to.

        Medium: 3 connects.
        """
        statics = self.statics
        for cell in statics.cells:
            if statics.wire(cell) == FALSE:
                continue
            for direction in LEVEL_DIRECTIONS:
                beside = direction.step(cell)
                self.formula.define_or(
                    "3 connects",
                    ("connects", cell, direction),
                    [
                        statics.wire(beside),
                        statics.any_inverter(beside),
                        statics.buffer(beside, direction),
                        statics.buffer(beside, direction.opposite),
                        self._step_literal(cell, direction),
                        self._step_literal(Direction.NZ.step(beside), direction.opposite),
                        statics.lead(cell, direction),
                        statics.outside_buffer(cell, direction),
                        self._lead_literal("lead climbs", Direction.NZ.step(cell), direction),
                        self._lead_literal(
                            "lead powered from below", Direction.PZ.step(cell), direction
                        ),
                    ],
                )

    def wires_run(self) -> None:
        """Section 3: a wire runs where it connects, straight on from one connection, or everywhere.

        It runs towards ``d`` if it connects to ``d``, or connects to neither direction at
        right angles: then ``d`` is opposite to its only connection, or it has none.

        Medium: 3 runs.
        """
        rule = "3 runs"
        for cell in self.statics.cells:
            wire = self.statics.wire(cell)
            for direction in LEVEL_DIRECTIONS:
                if wire == FALSE:
                    self.formula.alias(FALSE, "runs", cell, direction)
                    continue
                runs = self.formula.declare("runs", cell, direction)
                ahead = self.formula.literal("connects", cell, direction)
                left, right = (
                    self.formula.literal("connects", cell, side) for side in direction.sides
                )
                self.formula.add(rule, [-runs, wire])
                self.formula.add(rule, [-runs, ahead, -left])
                self.formula.add(rule, [-runs, ahead, -right])
                self.formula.add(rule, [runs, -wire, -ahead])
                self.formula.add(rule, [runs, -wire, left, right])
