"""Why every cell is in its state: the rules of sections 4 and 5, told for one moment.

A moment is what ``play`` shows at one tick. For every part that can have power this module says its
present state, and which rule and which neighbours cause it. It finds neighbours with ``touch.py``
and their power in the frame, so it explains the play and decides nothing.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from synth.layout import Layout
from synth.medium import LEVEL_DIRECTIONS, Block, Cell, Direction, Joint, Part, Role, Rules
from synth.simulator import touch
from synth.simulator.fabric import Fabric, weave
from synth.simulator.play import Frame, State
from synth.simulator.row import Row

MOST_NAMED = 4
"""A sentence names this many neighbours and counts the rest."""

LIVE_PARTS = frozenset({Part.SOLID, Part.WIRE, Part.INVERTER, Part.BUFFER})
"""Parts that have power or are on; the others are never charged (section 2)."""


@dataclass(frozen=True, slots=True)
class Situation:
    """The state of one cell at one moment.

    Attributes:
        value: for a wire its strength; for a solid 0 if not charged, 1 if charged, 2 if driven; for
            an inverter, a buffer and what an outside buffer of an output sees, 0 off or 1 on.
        text: the same in words.
        why: the reason.
    """

    value: int
    text: str
    why: str


def show_cell(cell: Cell) -> str:
    """``(1,0,2)``: a cell as sentences write it."""
    return "({},{},{})".format(*cell)


class Reasons:
    """Tells why, for every live cell of a legal layout that stands alone.

    Attributes:
        cells: the live cells in order, those outside the box (leads, outside buffers) last.
        fabric: the numbering of its parts, as ``play`` uses it.
    """

    def __init__(self, layout: Layout, rules: Rules) -> None:
        self.layout = layout
        self.rules = rules
        self.row = Row(layout)
        self.fabric: Fabric = weave(self.row)
        inside = [cell for cell, block in layout.cells.items() if block.part in LIVE_PARTS]
        self.cells = (*inside, *(pin.outside for pin in layout.pins))
        fabric = self.fabric
        self._wires = {cell: number for number, cell in enumerate(fabric.wires)}
        self._solids = {cell: number for number, cell in enumerate(fabric.solids)}
        self._devices = {
            cell: number for number, cell in enumerate((*fabric.inverters, *fabric.buffers))
        }
        self._inputs = {port.pin.outside: port.emitter for port in fabric.inputs}
        self._emitters = self._devices | {
            port.pin.outside: port.emitter
            for port in fabric.inputs
            if port.pin.joint is Joint.BUFFER
        }

    def situations(self, state: State, shown: Frame) -> tuple[Situation, ...]:
        """The situation of each of ``cells`` at the moment that ``shown`` is the frame of."""
        now = _Moment(self, state, shown)
        return tuple(now.situation(cell) for cell in self.cells)


class _Moment:
    """One moment: looks up power by cell and writes the sentences."""

    def __init__(self, reasons: Reasons, state: State, shown: Frame) -> None:
        self.of = reasons
        self.row = reasons.row
        self.state = state
        self.shown = shown

    def situation(self, cell: Cell) -> Situation:
        block = self.row.block(cell)
        if block is None:
            # In front of the output of a link stands the next copy, or nothing (section 11).
            link = next(pin for pin in self.of.layout.pins if pin.outside == cell)
            return self._outward_buffer(link.at, link.face, link.name)
        if block.part is Part.WIRE:
            return self._wire(cell)
        if block.part is Part.SOLID:
            return self._solid(cell)
        if block.part is Part.INVERTER:
            return self._inverter(cell, block)
        pin = self.row.pin(cell)
        if pin is None:
            return self._buffer(cell, block)
        if pin.role is Role.INPUT:
            on = self._on(cell)
            return Situation(on, _on_off(on), f"input {pin.name} is {_on_off(on)}")
        return self._outward_buffer(pin.at, pin.face, pin.name)

    # Power by cell.

    def _strength(self, cell: Cell) -> int:
        return self.shown.strength[self.of._wires[cell]]

    def _charged(self, cell: Cell) -> int:
        return self.shown.power.charged[self.of._solids[cell]]

    def _driven(self, cell: Cell) -> int:
        return self.shown.power.driven[self.of._solids[cell]]

    def _on(self, cell: Cell) -> int:
        # The outside buffer of an output points away from everything and is no emitter.
        number = self.of._emitters.get(cell)
        return 0 if number is None else self.shown.power.on[number]

    def _name(self, cell: Cell) -> str:
        """What a cell holds, and which cell it is: ``wire (1,0,2)``, ``the lead of a``."""
        pin = self.row.pin(cell)
        if pin is not None:
            outside = "lead" if pin.joint is Joint.WIRE else "outside buffer"
            return f"the {outside} of {pin.role} {pin.name}"
        block = self.row.block(cell)
        return f"{block.part if block else 'nothing at'} {show_cell(cell)}"

    # Wires, section 4.

    def _wire(self, cell: Cell) -> Situation:
        strength = self._strength(cell)
        text = f"strength {strength}"
        if strength == self.of.rules.reach:
            return Situation(strength, text, _listed(self._full_causes(cell)))
        if strength:
            return Situation(strength, text, _listed(self._links_that_give(cell, strength + 1)))
        return Situation(0, "no power", _listed(self._why_off(cell)) or "nothing can power it")

    def _full_causes(self, wire: Cell) -> Iterator[str]:
        """What gives a wire full strength now."""
        number = self.of._inputs.get(wire)
        pin = self.row.pin(wire)
        if number is not None and pin is not None and self.shown.power.on[number]:
            yield f"input {pin.name} is on"
        for cell in touch.powering_cells(self.row, wire):
            if self._on(cell):
                yield self._powering(wire, cell, "on")
        for cell in touch.neighbouring_solids(self.row, wire):
            if self._driven(cell):
                yield f"{self._name(cell)} {_place(wire, cell)} it is driven"
        # With reach 1 a wire gets no strength over a link, so nothing else can be the cause.

    def _powering(self, wire: Cell, cell: Cell, word: str) -> str:
        block = self.row.block(cell)
        if block is not None and block.part is Part.BUFFER:
            return f"{self._name(cell)}, which points into it, is {word}"
        return f"{self._name(cell)} {_place(wire, cell)} it is {word}"

    def _links_that_give(self, wire: Cell, strength: int) -> Iterator[str]:
        for other, _, _, receives in touch.links(self.row, wire):
            if receives and self._strength(other) == strength:
                yield f"{self._name(other)}, linked to it, has strength {strength}"

    def _why_off(self, wire: Cell) -> Iterator[str]:
        """Everything that could power a wire, and why it does not."""
        pin = self.row.pin(wire)
        if pin is not None and pin.role is Role.INPUT:
            yield f"input {pin.name} is off"
        for cell in touch.powering_cells(self.row, wire):
            yield self._powering(wire, cell, "off")
        for cell in touch.neighbouring_solids(self.row, wire):
            if self._charged(cell):
                yield f"{self._name(cell)} is charged, but only a driven solid powers a wire"
            elif any(touch.driving_cells(self.row, cell)):
                yield f"{self._name(cell)} {_place(wire, cell)} it is not driven"
        for other, _, _, receives in touch.links(self.row, wire):
            strength = self._strength(other)
            if not receives:
                if strength:
                    name = self._name(other)
                    yield f"{name} is powered, but passes nothing down: no solid below it"
            elif strength:
                yield f"{self._name(other)} has strength {strength}, too weak to go on"
            else:
                yield f"{self._name(other)}, linked to it, has no power"

    # Solids, section 4.

    def _solid(self, cell: Cell) -> Situation:
        drivers = list(touch.driving_cells(self.row, cell))
        if self._driven(cell):
            powered = (self._driver(other, "on") for other in drivers if self._on(other))
            return Situation(2, "charged and driven", _listed(powered))
        if self._charged(cell):
            return Situation(1, "charged, not driven", _listed(self._charging(cell, powered=True)))
        dark = [self._driver(other, "off") for other in drivers]
        dark += self._charging(cell, powered=False)
        return Situation(0, "not charged", _listed(dark) or "nothing can charge it")

    def _driver(self, cell: Cell, word: str) -> str:
        block = self.row.block(cell)
        if block is not None and block.part is Part.BUFFER:
            return f"{self._name(cell)}, which points into it, is {word}"
        return f"{self._name(cell)} below it is {word}"

    def _charging(self, solid: Cell, *, powered: bool) -> Iterator[str]:
        """The wires that charge a solid (``powered``), or those near it that do not, and why."""
        above = Direction.PZ.step(solid)
        if touch.is_part(self.row, above, Part.WIRE) and bool(self._strength(above)) is powered:
            power = f"has strength {self._strength(above)}" if powered else "has no power"
            yield f"{self._name(above)} on top of it {power}"
        for direction in LEVEL_DIRECTIONS:
            wire = direction.step(solid)
            if not touch.is_part(self.row, wire, Part.WIRE):
                continue
            strength = self._strength(wire)
            towards = direction.opposite in touch.runs(self.row, wire)
            if powered and strength and towards:
                yield f"{self._name(wire)} runs towards it with strength {strength}"
            elif not powered and towards:
                yield f"{self._name(wire)}, which runs towards it, has no power"
            elif not powered and strength:
                yield f"{self._name(wire)} is powered, but does not run towards it"

    # Inverters and buffers, section 5.

    def _inverter(self, cell: Cell, block: Block) -> Situation:
        assert block.facing is not None
        host = block.facing.step(cell)
        on, charged = self._on(cell), self._charged(host)
        at = f"its host {show_cell(host)}"
        if on and charged:
            why = f"{at} was not charged a tick ago; now it is, so it goes off at the next tick"
        elif on:
            why = f"{at} is not charged"
        elif charged:
            why = f"{at} is charged"
        else:
            why = f"{at} was charged a tick ago; now it is not, so it goes on at the next tick"
        return Situation(on, _on_off(on), why)

    def _buffer(self, cell: Cell, block: Block) -> Situation:
        assert block.facing is not None
        back = block.facing.opposite.step(cell)
        number = self.of._devices[cell]
        index = number - self.of.fabric.first_buffer
        on, wait = self._on(cell), self.state.waits[index]
        holders = [c for c in touch.holding_cells(self.row, cell, block.facing) if self._on(c)]
        if holders:
            named = _listed(self._name(holder) for holder in holders)
            return Situation(on, f"{_on_off(on)}, held", f"{named} points into its side and is on")
        sees = self.shown.power.seen(self.of.fabric.backs[index])
        look = self._look(back, block.facing, sees)
        due = wait or block.delay
        after = "at the next tick" if due == 1 else f"in {due} ticks"
        if sees == on and not wait:
            why = look
        elif on and sees:
            why = f"{look}; a change is due {after}, which power behind it then would stop"
        elif on:
            why = f"it had power behind it; now {look}; it goes off {after} if that stays"
        elif sees:
            why = f"{look}; its delay is {block.delay}: it goes on {after}"
        else:
            why = f"{look}, but had power a moment ago: it goes on {after}"
        return Situation(on, _on_off(on), why)

    def _look(self, back: Cell, facing: Direction, sees: int) -> str:
        """What a buffer, or an output's outside buffer, sees behind it."""
        block = self.row.block(back)
        if block is None:
            return f"its back {show_cell(back)} is empty"
        named = f"its back, {self._name(back)},"
        if block.part is Part.WIRE:
            strength = self._strength(back)
            return f"{named} has strength {strength}" if sees else f"{named} has no power"
        if block.part is Part.SOLID:
            return f"{named} is charged" if sees else f"{named} is not charged"
        if block.part is Part.INVERTER or touch.points_into(block, facing):
            return f"{named} is {_on_off(sees)}"
        return f"{named} never gives it power"

    def _outward_buffer(self, at: Cell, face: Direction, name: str) -> Situation:
        sees = next(
            self.shown.power.seen(port.sight)
            for port in self.of.fabric.outputs
            if port.pin.name == name
        )
        return Situation(sees, _on_off(sees), self._look(at, face, sees))


def _on_off(on: int) -> str:
    return "on" if on else "off"


def _place(cell: Cell, other: Cell) -> str:
    """The place of ``other``, seen from its neighbour ``cell``."""
    rise = other[2] - cell[2]
    return "beside" if rise == 0 else "above" if rise > 0 else "below"


def _listed(causes: Iterator[str] | Sequence[str]) -> str:
    """Clauses as one sentence, the first ``MOST_NAMED`` of them in full."""
    found = list(causes)
    more = len(found) - MOST_NAMED
    if more > 0:
        found = [*found[:MOST_NAMED], f"and {more} more like these"]
    return "; ".join(found)
