"""Who is caused by whom in a window, for all plays and ticks at once.

Every wire, solid, inverter, buffer and input that is there or may be there is a node. Causes are
those of ``causes.py``, asked once a node and not once a play and tick. A cause is a *code*: twice
the number of its node, plus one if it is seen across the border of a stack.

Wires that are linked both ways for certain are one node: whatever lights one lights all, surely
and possibly (but for the reach, which ``encode_window`` leaves to the simulator).
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import NamedTuple

from synth.encoding import causes
from synth.encoding.formula import FALSE, TRUE
from synth.encoding.geometry import Slot
from synth.encoding.shape import Node, Shape
from synth.encoding.windows.known import KnownFormula
from synth.encoding.windows.statics import WindowStatics
from synth.medium import HOST_DIRECTIONS, LEVEL_DIRECTIONS, Cell, Direction, Joint, Role

NOTHING = FALSE
"""The code of no cause at all."""


def plays_of(mask: int) -> Iterator[int]:
    """The indices of the plays (or signals) in a mask."""
    while mask:
        lowest = mask & -mask
        yield lowest.bit_length() - 1
        mask ^= lowest


class Cause(NamedTuple):
    """The node of ``code`` is a cause where ``condition`` is true."""

    condition: int
    code: int


@dataclass
class Thing:
    """One node.

    Attributes:
        family: ``wire``, ``driven``, ``charged``, ``inverter``, ``buffer``, ``input``.
        places: the cells, or the slots of leads and inputs, that it is; several for merged wires.
        presence: the literal that says that it is there; of an input, false (see ``inputs``).
        facing: where a buffer points.
        causes: at the same tick, links aside.
        links: through links, at the same tick (wires).
        hosts: of an inverter: its hangings, with the solid it then hangs on.
        backs: of a buffer: what its back sees.
        delay: of a buffer, in ticks.
        inputs: of an input: the literal of its pin, by name of the input.
    """

    family: str
    places: list[Node]
    presence: int
    facing: Direction | None = None
    causes: list[Cause] = field(default_factory=list)
    links: list[Cause] = field(default_factory=list)
    hosts: list[Cause] = field(default_factory=list)
    backs: list[int] = field(default_factory=list)
    delay: int = 0
    inputs: dict[str, int] = field(default_factory=dict)

    @property
    def is_device(self) -> bool:
        """Whether its output at a tick looks at earlier ticks."""
        return self.family in ("inverter", "buffer")


class Graph:
    """The nodes of a window and what causes what.

    Attributes:
        things: the nodes, by number.
        wires, driven, charged, devices, inputs: numbers of the nodes of those kinds.
    """

    def __init__(self, formula: KnownFormula, statics: WindowStatics, shape: Shape) -> None:
        self.formula = formula
        self.statics = statics
        self.shape = shape
        self.things: list[Thing] = []
        self._codes: dict[tuple[object, ...], int] = {}
        self._number_wires()
        self._number_cells()
        self._number_inputs()
        by_family: dict[str, list[int]] = {}
        for number, thing in enumerate(self.things):
            by_family.setdefault(thing.family, []).append(number)
        self.wires = by_family.get("wire", [])
        self.driven = by_family.get("driven", [])
        self.charged = by_family.get("charged", [])
        self.inputs = by_family.get("input", [])
        self.devices = by_family.get("inverter", []) + by_family.get("buffer", [])
        self._connect()

    # Numbering

    def _add(self, thing: Thing, *keys: tuple[object, ...]) -> None:
        code = 2 * len(self.things)
        self.things.append(thing)
        for key in keys:
            self._codes[key] = code

    def _number_wires(self) -> None:
        nodes = self.shape.nodes()
        merged = {node: node for node in nodes}

        def root(node: Node) -> Node:
            while merged[node] != node:
                merged[node] = merged[merged[node]]
                node = merged[node]
            return node

        sure = {(link.source, link.target) for link in self.shape.links if link.literal == TRUE}
        for source, target in sure:
            if (target, source) in sure:
                merged[root(source)] = root(target)
        groups: dict[Node, list[Node]] = {}
        for node in nodes:
            groups.setdefault(root(node), []).append(node)
        for members in groups.values():
            presence = self.shape.presence(members[0])
            self._add(Thing("wire", members, presence), *(("wire", node) for node in members))

    def _number_cells(self) -> None:
        statics = self.statics
        for cell in statics.cells:
            solid, hangs = statics.solid(cell), statics.any_inverter(cell)
            if solid != FALSE:
                self._add(Thing("driven", [cell], solid), ("driven", cell))
                self._add(Thing("charged", [cell], solid), ("charged", cell))
            if hangs != FALSE:
                self._add(Thing("inverter", [cell], hangs), ("inverter", cell))
            for to in LEVEL_DIRECTIONS:
                there = statics.buffer(cell, to)
                if there != FALSE:
                    thing = Thing("buffer", [cell], there, to, delay=statics.delays[cell])
                    self._add(thing, ("buffer", cell, to))

    def _number_inputs(self) -> None:
        statics, spec = self.statics, self.statics.question.spec
        for slot, names in statics.names_at.items():
            for joint in Joint:
                inputs = {
                    name: statics.pin(name, slot)
                    for name in names
                    if spec.role(name) is Role.INPUT and spec.joint(name) is joint
                }
                if any(literal != FALSE for literal in inputs.values()):
                    thing = Thing("input", [slot], FALSE, inputs=inputs)
                    self._add(thing, ("input", joint, slot))

    # What ``causes`` asks

    def power(self, family: str, cell: Cell) -> int:
        """The code of ``wire``, ``charged``, ``driven`` or ``inverter`` at a cell."""
        code = self._codes.get((family, cell), NOTHING)
        if code != NOTHING or self.statics.geometry.axis is None:
            return code
        other = self.statics.geometry.in_other_copy(cell)
        return NOTHING if other is None else self._codes.get((family, other), -2) + 1

    def lead(self, cell: Cell, face: Direction) -> int:
        """The code of the lead beyond that face."""
        return self._codes.get(("wire", Slot(cell, face)), NOTHING)

    def buffer(self, cell: Cell, to: Direction) -> int:
        """The code of the buffer in a cell that points along ``to``."""
        return self._codes.get(("buffer", cell, to), NOTHING)

    def input_on(self, joint: Joint, cell: Cell, face: Direction) -> int:
        """The code of the input with that joint beyond that face."""
        return self._codes.get(("input", joint, Slot(cell, face)), NOTHING)

    # Connecting

    def _connect(self) -> None:
        for number in self.wires:
            self._connect_wire(number)
        for number in self.driven:
            thing = self.things[number]
            codes = causes.drivers(self, self._cell(thing))
            thing.causes = [Cause(TRUE, code) for code in codes if code != NOTHING]
        for number in self.charged:
            thing = self.things[number]
            thing.causes = self._chargers(self._cell(thing))
        for number in self.devices:
            self._connect_device(self.things[number])

    @staticmethod
    def _cell(thing: Thing) -> Cell:
        (place,) = thing.places
        assert not isinstance(place, Slot)
        return place

    def _connect_wire(self, number: int) -> None:
        """Sections 4 and 6: full strength from sources, less through links."""
        thing = self.things[number]
        found = {code for node in thing.places for code in causes.sources(self, node)}
        found.discard(NOTHING)
        thing.causes = [Cause(TRUE, code) for code in sorted(found)]
        through = {
            Cause(link.literal, self._codes["wire", link.source])
            for node in thing.places
            for link in self.shape.into[node]
        }
        thing.links = sorted(cause for cause in through if cause.code != 2 * number)

    def _chargers(self, cell: Cell) -> list[Cause]:
        """Section 4: a solid is charged when driven, under a lit wire, or run into by one."""
        geometry = self.statics.geometry
        found = [
            Cause(TRUE, self.power("driven", cell)),
            Cause(TRUE, self.power("wire", Direction.PZ.step(cell))),
        ]
        for direction in LEVEL_DIRECTIONS:
            beside = direction.step(cell)
            code = self.power("wire", beside)
            if code != NOTHING:
                owner = beside if geometry.inside(beside) else geometry.in_other_copy(beside)
                assert owner is not None
                found.append(Cause(self.shape.runs(owner, direction.opposite), code))
            found.append(Cause(TRUE, self.lead(cell, direction)))
        return [cause for cause in found if cause.code != NOTHING and cause.condition != FALSE]

    def _connect_device(self, thing: Thing) -> None:
        cell = self._cell(thing)
        if thing.family == "inverter":
            for on in HOST_DIRECTIONS:
                hangs = self.statics.inverter(cell, on)
                if hangs != FALSE:
                    thing.hosts.append(Cause(hangs, self.power("charged", on.step(cell))))
            return
        assert thing.facing is not None
        seen = causes.seen_at_back(self, Slot(cell, thing.facing))
        thing.backs = sorted({code for code in seen if code != NOTHING})
