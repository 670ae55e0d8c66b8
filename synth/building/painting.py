"""Paints a placement: four storeys, right by construction.

Heights, from the top: rows are wires along x at height 3, on ledges at height 2; columns are wires
along y at height 1, on ledges at height 0. Where a column reads a row, a solid lies under the row
with an inverter on its +y side, just above the column: the column is powered by every inverter
whose row is off, so it is the NAND of the rows. At its own lane the column climbs in two steps
along +x to the row that it makes.

No wire touches another's: lanes and slots lie two cells apart, only climbs lie between, and under
the first cell of a row lies a solid, which keeps the climb from the column below.
"""

from __future__ import annotations

from collections.abc import Mapping
from itertools import pairwise

from synth.building.placing import PITCH, Column, Placement
from synth.composing.canvas import Canvas
from synth.layout import Layout, Pin
from synth.medium import DEFAULT_RULES, SOLID, Cell, Direction, Joint, Role, Rules, inverter

ROWS, HOSTS, COLUMNS = 3, 2, 1
"""Heights."""


def painted(
    placement: Placement,
    *,
    joints: Joint = Joint.BUFFER,
    names: Mapping[str, str] | None = None,
    rules: Rules = DEFAULT_RULES,
    pads: Mapping[str, int] | None = None,
) -> Layout:
    """The layout of a placement: inputs on the side -x, outputs on the side +x.

    Args:
        placement: where everything lies.
        joints: of every pin.
        names: the pin of each input and output; None: their own names.
        rules: the rule table.
        pads: how many buffers stand before the pin of an output, to make it wait; constants have
            none.

    Raises:
        Unbuildable: if a wire cannot be kept powered: it is too long and has no place for a buffer.
    """
    return _Painter(placement, joints, names or {}, rules, pads or {}).layout()


class _Painter:
    """Paints columns and rows, each with the buffers that it needs."""

    def __init__(
        self,
        placement: Placement,
        joints: Joint,
        names: Mapping[str, str],
        rules: Rules,
        pads: Mapping[str, int],
    ) -> None:
        self.placement = placement
        self.network = placement.network
        self.joints = joints
        self.names = names
        self.rules = rules
        self.canvas = Canvas(rules)
        self.pads = pads
        self.read_at: dict[str, set[int]] = {}
        for column in placement.columns.values():
            for read in column.gate.reads:
                self.read_at.setdefault(read, set()).add(PITCH * column.slot)
        self.shown = {signal: name for name, signal in self.network.outputs.items() if signal}
        padded = (self._padded_end(signal) for signal, name in self.shown.items() if pads.get(name))
        self.end = max([PITCH * placement.slots, *padded])

    def _padded_end(self, signal: str) -> int:
        """Where the row of an output that waits can end: behind its buffers, with one wire."""
        column = self.placement.columns.get(signal)
        first = 0 if column is None else PITCH * column.slot + 2
        last_read = max(self.read_at.get(signal, set()), default=0)
        return max(first, last_read) + self.pads[self.shown[signal]] + 1

    def layout(self) -> Layout:
        """The layout."""
        for name in self.network.inputs:
            self._input(name)
        for column in self.placement.columns.values():
            self._column(column)
        for name, signal in self.network.outputs.items():
            if not signal:
                self._constant(name, on=signal is not None)
        width = PITCH * self.placement.lanes
        painted = self.canvas.layout()
        order = [*self.network.inputs, *self.network.outputs]
        place = {self.names.get(name, name): index for index, name in enumerate(order)}
        pins = tuple(sorted(painted.pins, key=lambda pin: place[pin.name]))
        length, high, height = painted.size
        return painted.replace(
            size=(length, max(high, width - 1), height), pins=pins, name=self.network_name
        )

    network_name: str | None = None

    def _pin(self, name: str, role: Role, at: Cell, face: Direction) -> None:
        self.canvas.pins.append(Pin(self.names.get(name, name), role, at, face, self.joints))

    def _last(self, signal: str) -> int | None:
        """Where the row of a signal ends; None if nobody reads it."""
        if signal in self.shown:
            return self.end
        return max(self.read_at.get(signal, ()), default=None)

    def _input(self, name: str) -> None:
        y = PITCH * self.placement.heads[name]
        self._pin(name, Role.INPUT, (0, y, ROWS), Direction.NX)
        last = self._last(name)
        if last is not None:
            # A lead is a wire that has lost nothing yet; the first wire in the box has.
            strength = self.rules.reach - (self.joints is Joint.WIRE)
            self._row(name, [(x, y, ROWS) for x in range(last + 1)], strength)

    def _row(self, signal: str, cells: list[Cell], strength: int) -> None:
        """A row and what reads it; the first cells may be those of a climb."""
        read = self.read_at.get(signal, set())
        spare = 0
        if signal in self.shown:
            self._pin(self.shown[signal], Role.OUTPUT, cells[-1], Direction.PX)
            pads = self.pads.get(self.shown[signal], 0)
            if pads:
                for cell in cells[-1 - pads : -1]:
                    self.canvas.restorer(cell, Direction.PX)
                self.canvas.wire(cells[-1])
                cells = cells[: -1 - pads]
            else:
                # The lead outside is one wire more.
                spare = int(self.joints is Joint.WIRE)
        flat = {cell for before, cell in pairwise(cells) if before[2] == cell[2]}
        breaks = {cell for cell in flat if cell[2] == ROWS and cell[0] not in read}
        self.canvas.line(cells, strength=strength, breaks=breaks, spare=spare)

    def _column(self, column: Column) -> None:
        x, own = PITCH * column.slot, PITCH * column.lane
        sources = column.sources
        for lane, source in zip(column.reads, sources, strict=True):
            host = PITCH * lane
            self.canvas.put((x, host, HOSTS), SOLID)
            on = Direction.NY if source > host else Direction.PY
            self.canvas.put((x, source, HOSTS), inverter(on))
        left = 0
        for way in (1, -1):
            ahead = [y for y in sources if (own - y) * way > 0]
            if ahead:
                start = min(ahead) if way > 0 else max(ahead)
                cells = [(x, y, COLUMNS) for y in range(start, own + way, way)]
                breaks = {cell for cell in cells[1:-1] if cell[1] not in sources}
                # Two more wires climb before a buffer may stand.
                strength = self.canvas.line(cells, breaks=breaks, spare=3)
                left = strength if not left else min(left, strength)
        climb = [(x, own, COLUMNS), (x + 1, own, COLUMNS + 1)]
        self.canvas.put((x + 2, own, HOSTS), SOLID)
        last = self._last(column.gate.name)
        row = [(at, own, ROWS) for at in range(x + 2, (last or x + 2) + 1)]
        self._row(column.gate.name, [*climb, *row], left)

    def _constant(self, name: str, *, on: bool) -> None:
        at = (self.end, PITCH * self.placement.spares[name], ROWS)
        self._pin(name, Role.OUTPUT, at, Direction.PX)
        if on:
            self.canvas.put((at[0], at[1], HOSTS), SOLID)
            self.canvas.put(at, inverter(Direction.NZ))
