"""The fabric: who touches whom in a row of copies, worked out once so that play is quick.

Wires, solids and emitters (whatever can be on: inverters, buffers, inputs) become numbers;
every rule of ``touch.py`` becomes a table from numbers to tuples of numbers.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from enum import IntEnum

from synth.layout import Layout, Pin
from synth.medium import LEVEL_DIRECTIONS, Block, Cell, Direction, Joint, Part, Role
from synth.simulator import touch
from synth.simulator.row import Row

Targets = tuple[tuple[int, ...], ...]
"""For every number of one kind, the numbers of another kind that it concerns."""


class Table(IntEnum):
    """Which of the three tables of an instant a ``Sight`` looks into."""

    ON = 0
    POWERED = 1
    CHARGED = 2


@dataclass(frozen=True, slots=True)
class Sight:
    """What a buffer or an output looks at: one entry of one table of an instant."""

    table: Table
    index: int


@dataclass(frozen=True, slots=True)
class InputPort:
    """One input of one copy: its emitter, and the wire that is its lead (None: a buffer)."""

    copy: int
    pin: Pin
    emitter: int
    lead: int | None


@dataclass(frozen=True, slots=True)
class OutputPort:
    """One output of one copy, what it looks at (None: nothing), and its lead, if it has one."""

    copy: int
    pin: Pin
    sight: Sight | None
    lead: int | None


@dataclass(frozen=True, slots=True)
class Fabric:
    """Tables of a row of copies of a legal layout.

    Emitters are numbered inverters first, then the buffers of the boxes, then inputs in order
    of pins, copy by copy, and last ``fog``: one that stands for whatever a copy of which
    nothing is known may do. It drives no table of a row without fog. Wires are those of the
    boxes by copy and cell, then leads, and last one that only ``fog`` powers.

    Attributes:
        inverters, buffers: cells, by emitter number (buffers start at ``first_buffer``).
        first_input: the emitter number of the first input.
        fog: the emitter number of the fog, one less than the number of emitters.
        wires: cells by wire number; the first ``box_wires`` lie inside the boxes.
        solids: cells by solid number.
        hosts: the solid that each inverter is on.
        delays: of each buffer, in ticks.
        backs: what each buffer looks at, or None.
        holders: emitters that point into a side of each buffer.
        sources: emitters that give each wire full strength, through driven solids too.
        receivers: wires that each wire gives strength to over one link.
        drivers: emitters that drive each solid.
        chargers: wires that charge each solid while powered.
        inputs, outputs: the pins of every copy.
    """

    inverters: tuple[Cell, ...]
    buffers: tuple[Cell, ...]
    first_input: int
    fog: int
    wires: tuple[Cell, ...]
    box_wires: int
    solids: tuple[Cell, ...]
    hosts: tuple[int, ...]
    delays: tuple[int, ...]
    backs: tuple[Sight | None, ...]
    holders: Targets
    sources: Targets
    receivers: Targets
    drivers: Targets
    chargers: Targets
    inputs: tuple[InputPort, ...]
    outputs: tuple[OutputPort, ...]

    @property
    def first_buffer(self) -> int:
        """The emitter number of the first buffer."""
        return len(self.inverters)

    @property
    def longest_window(self) -> int:
        """Ticks that any output looks back in the three-valued play: ``2k - 1``, at least 1."""
        return max((2 * delay - 1 for delay in self.delays), default=1)


def fabric_of(layout: Layout) -> Fabric:
    """The fabric of a layout that stands alone."""
    return weave(Row(layout))


def weave(row: Row) -> Fabric:
    """The fabric of the real copies of a row; what lies in fog copies becomes ``fog``."""
    return Weaver(row).fabric()


class Weaver:
    """Numbers the parts of a row, then fills the tables of its fabric, one rule a method."""

    def __init__(self, row: Row) -> None:
        self.row = row
        inverters = self._placed(Part.INVERTER)
        buffers = self._placed(Part.BUFFER)
        inputs = self._ports(Role.INPUT)
        self.outputs = self._ports(Role.OUTPUT)
        self.inverters = [cell for cell, _ in inverters]
        self.inverter_blocks = [block for _, block in inverters]
        self.buffers = [cell for cell, _ in buffers]
        self.buffer_blocks = [block for _, block in buffers]
        self.inputs = inputs
        emitting = [*self.inverters, *self.buffers]
        self.first_input = len(emitting)
        # The lead of an input is powered by its input, not by an emitter beside it, so it is left
        # out of what neighbours look up; an outside buffer is an emitter like any other.
        self.emitter_at = {cell: number for number, cell in enumerate(emitting)}
        self.arriving: dict[Cell, int] = {}
        for number, (copy, pin) in enumerate(inputs, start=self.first_input):
            if row.receives(pin):
                self.arriving[row.shifted(pin.outside, copy)] = number
            elif pin.joint is Joint.BUFFER:
                self.emitter_at[row.shifted(pin.outside, copy)] = number
        self.fog = self.first_input + len(inputs)

        self.wires = [cell for cell, _ in self._placed(Part.WIRE)]
        self.box_wires = len(self.wires)
        self.wires += [
            row.shifted(pin.outside, copy)
            for copy, pin in [*inputs, *self.outputs]
            if pin.joint is Joint.WIRE
        ]
        self.wire_at = {cell: number for number, cell in enumerate(self.wires)}
        self.fog_wire = len(self.wires)
        self.solids = [cell for cell, _ in self._placed(Part.SOLID)]
        self.solid_at = {cell: number for number, cell in enumerate(self.solids)}
        self.links = {cell: tuple(touch.links(row, cell)) for cell in self.wires}
        self.runs = {cell: touch.runs(row, cell, self.links[cell]) for cell in self.wires}
        self._drivers: dict[Cell, tuple[int, ...]] = {}

    def _placed(self, part: Part) -> list[tuple[Cell, Block]]:
        row = self.row
        own = [item for item in row.layout.cells.items() if item[1].part is part]
        return [
            (row.shifted(cell, copy), block) for copy in range(row.copies) for cell, block in own
        ]

    def _ports(self, role: Role) -> list[tuple[int, Pin]]:
        pins = [pin for pin in self.row.layout.pins if pin.role is role]
        return [(copy, pin) for copy in range(self.row.copies) for pin in pins]

    def fabric(self) -> Fabric:
        """All tables."""
        row = self.row
        lead_emitters = {
            row.shifted(pin.outside, copy): number
            for number, (copy, pin) in enumerate(self.inputs, start=self.first_input)
            if pin.joint is Joint.WIRE
        }
        sources = [self.sources(cell, lead_emitters.get(cell)) for cell in self.wires]
        receivers = [self.receivers(cell) for cell in self.wires]
        buffers = list(zip(self.buffers, map(_facing, self.buffer_blocks), strict=True))
        return Fabric(
            inverters=tuple(self.inverters),
            buffers=tuple(self.buffers),
            first_input=self.first_input,
            fog=self.fog,
            wires=tuple(self.wires),
            box_wires=self.box_wires,
            solids=tuple(self.solids),
            hosts=tuple(
                self.host(cell, _facing(block))
                for cell, block in zip(self.inverters, self.inverter_blocks, strict=True)
            ),
            delays=tuple(block.delay for block in self.buffer_blocks),
            backs=tuple(self.sight(to.opposite.step(cell), to) for cell, to in buffers),
            holders=tuple(self.holders(cell, to) for cell, to in buffers),
            sources=(*sources, (self.fog,)),
            receivers=(*receivers, ()),
            drivers=tuple(self.drivers(cell) for cell in self.solids),
            chargers=tuple(self.chargers(cell) for cell in self.solids),
            inputs=tuple(
                InputPort(copy, pin, number, self._lead(copy, pin))
                for number, (copy, pin) in enumerate(self.inputs, start=self.first_input)
            ),
            outputs=tuple(
                OutputPort(copy, pin, self.output_sight(copy, pin), self._lead(copy, pin))
                for copy, pin in self.outputs
            ),
        )

    def _emitters(self, cells: Iterable[Cell]) -> tuple[int, ...]:
        return tuple(sorted({self.emitter(cell) for cell in cells}))

    def emitter(self, cell: Cell) -> int:
        """Section 11: what is on in ``cell`` as the cell in front of it is shown it.

        In the cell behind a link's input is the buffer of the copy before. Whoever judges a copy
        takes it for the input that it is there: of nothing else of that copy is anything known.

        Medium: 11 handed on; 11 strange.
        """
        if cell in self.arriving:
            return self.arriving[cell]
        return self.emitter_at[cell] if self.row.is_real(cell) else self.fog

    def host(self, inverter: Cell, on: Direction) -> int:
        """Section 4: the solid whose charge an inverter sees.

        Medium: 4 inverter sees.
        """
        return self.solid_at[on.step(inverter)]

    def holders(self, buffer: Cell, to: Direction) -> tuple[int, ...]:
        """Section 5: the buffers that point into a side of a buffer.

        Medium: 5 held in time; 5 held settle.
        """
        return self._emitters(touch.holding_cells(self.row, buffer, to))

    def receivers(self, wire: Cell) -> tuple[int, ...]:
        """Section 4: the linked wires that can receive strength from a wire.

        Medium: 4 along links.
        """
        found = [self.wire_at[other] for other, _, gives, _ in self.links[wire] if gives]
        found.sort()
        return tuple(found)

    def drivers(self, solid: Cell) -> tuple[int, ...]:
        """Section 4: the inverter below a solid and the buffers that point into it.

        Medium: 4 driven.
        """
        found = self._drivers.get(solid)
        if found is None:
            found = self._drivers[solid] = self._emitters(touch.driving_cells(self.row, solid))
        return found

    def sources(self, wire: Cell, own_input: int | None) -> tuple[int, ...]:
        """Sections 4 and 6: what makes a wire's strength ``reach``, driven solids seen through.

        Args:
            own_input: the emitter of the input whose lead the wire is, or None.

        Medium: 4 sources; 6 input leads; 6 leads receive.
        """
        found = set(self._emitters(touch.powering_cells(self.row, wire)))
        for solid in touch.neighbouring_solids(self.row, wire):
            if solid in self.solid_at:
                found.update(self.drivers(solid))
            elif any(touch.driving_cells(self.row, solid)):
                found.add(self.fog)
        if own_input is not None:
            found.add(own_input)
        return tuple(sorted(found))

    def chargers(self, solid: Cell) -> tuple[int, ...]:
        """Sections 4 and 6: the wire on a solid, and level neighbours that run towards it.

        A lead that runs towards the solid at its pin's cell is one of them.

        Medium: 4 charged; 6 leads give.
        """
        row = self.row
        found = set()
        above = Direction.PZ.step(solid)
        if touch.is_part(row, above, Part.WIRE):
            found.add(self.wire_at.get(above, self.fog_wire))
        for direction in LEVEL_DIRECTIONS:
            beside = direction.step(solid)
            if touch.is_part(row, beside, Part.WIRE):
                towards = self.runs.get(beside)
                if towards is None:
                    towards = touch.runs(row, beside)
                if direction.opposite in towards:
                    found.add(self.wire_at.get(beside, self.fog_wire))
        return tuple(sorted(found))

    def sight(self, back: Cell, facing: Direction) -> Sight | None:
        """Section 4: what a buffer that points along ``facing`` sees in its back cell.

        Medium: 4 buffer sees.
        """
        block = self.row.block(back)
        if block is None:
            return None
        if block.part is Part.WIRE:
            return Sight(Table.POWERED, self.wire_at[back])
        if block.part is Part.SOLID:
            return Sight(Table.CHARGED, self.solid_at[back])
        if block.part is Part.INVERTER or touch.points_into(block, facing):
            return Sight(Table.ON, self.emitter(back))
        return None

    def output_sight(self, copy: int, pin: Pin) -> Sight | None:
        """Sections 6 and 11: an output reads its lead, or what its outside buffer sees.

        That of a link reads its own buffer.

        Medium: 6 outputs read; 11 outputs read.
        """
        lead = self._lead(copy, pin)
        if self.row.sends(pin):
            own = self.emitter_at.get(self.row.shifted(pin.at, copy))
            return None if own is None else Sight(Table.ON, own)
        if lead is not None:
            return Sight(Table.POWERED, lead)
        return self.sight(self.row.shifted(pin.at, copy), pin.face)

    def _lead(self, copy: int, pin: Pin) -> int | None:
        if pin.joint is Joint.BUFFER:
            return None
        return self.wire_at[self.row.shifted(pin.outside, copy)]


def _facing(block: Block) -> Direction:
    assert block.facing is not None
    return block.facing
