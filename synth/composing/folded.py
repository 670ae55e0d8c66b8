"""Folded sheets: one lane for an input and its complement, lanes shared from both sides.

``folding.py`` says what lies in which lane and where the columns are. Both forms have rows of
inputs over columns of products: under a row that a column reads lies a solid. Mostly an inverter
hangs on its +y or -y side, just above the column; ``crossings.py`` has the other ways.

- The *folded sheet* has the rows of outputs under the columns, read as in ``sheet.py``.
- The *flat sheet* is two cells lower. It has the rows of outputs beside the rows of inputs, one on
  each side at most: a column runs towards a solid at its end, and an inverter standing on that
  solid powers the row just beyond.

A column that reads all lanes through inverters hangs them all on the +y side. Any other hangs
those beyond the first lane that it does not read so on the -y side, so that no inverter lies beyond
the last lane.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence

from synth.composing.canvas import Canvas
from synth.composing.columns import paint_column
from synth.composing.folding import Folding, Form, folded, rated
from synth.composing.order import Order, Side
from synth.composing.strands import Strand
from synth.layout import Layout, Pin
from synth.medium import SOLID, Cell, Direction, Role, inverter


class _Sheet:
    """What both forms have in common. Heights are those of its rows of inputs and of its columns.

    Attributes:
        form: the form as the search of an order of columns sees it.
        rows, columns, outputs: heights.
    """

    form: Form
    rows: int
    columns: int
    outputs: int

    def __init__(self, order: Order) -> None:
        self.order = order
        self.canvas = Canvas(order.rules)

    @classmethod
    def rate(cls, order: Order) -> float:
        """An estimate of the floor that it takes.

        Raises:
            Unbuildable: as ``layout`` does.
        """
        return rated(order, cls.form)

    def layout(self) -> Layout:
        """The layout.

        Raises:
            Unbuildable: if the network has several levels, or something has no room.
        """
        strands, self.folding = folded(self.order, self.form)
        products = strands.products
        lane_of = {
            strand.name: 2 * number
            for number, lane in enumerate(self.folding.inputs)
            for strand, _ in lane
        }
        for number, lane in enumerate(self.folding.inputs):
            for strand, side in lane:
                self._input(strand, side, 2 * number)
        taps: dict[int, list[int]] = {number: [] for number in self.folding.products}
        places = self._output_places(self.folding)
        for lane, y in zip(self.folding.outputs, places, strict=True):
            for strand, side in lane:
                self._output(strand, side, y)
                for number in strand.columns:
                    taps[number].append(y)
        longest = 0
        for number in self.folding.products:
            x = self.folding.places[number]
            sources = self._crosspoints(x, {lane_of[term.name] for term in products[number]})
            read = [self._tap(x, y) for y in taps[number]]
            paint_column(self.canvas, x, self.columns, sources, read)
            longest = max(longest, max(*sources, *read) - min(*sources, *read) + 1)
        painted = self.canvas.layout(ground=self.order.ground)
        if self.order.stack != "y":
            return painted
        # Columns of copies side by side do not touch, and their lanes are two cells apart.
        lanes = len(self.folding.inputs), len(self.folding.outputs)
        least = max(longest + 1, self.form.width(*lanes, self.folding.full, stacked=True))
        length, width, height = painted.size
        return painted.replace(size=(length, max(width, least), height))

    def _output_places(self, folding: Folding) -> Sequence[int]:
        """The y of each lane of outputs."""
        raise NotImplementedError

    def _tap(self, x: int, y: int) -> int:
        """Read the column at x for the output's row at y; returns the y at which it is read."""
        raise NotImplementedError

    def _edge(self, side: Side) -> int:
        return 0 if side is Side.LEFT else self.folding.end

    # Rows.

    def _input(self, strand: Strand, side: Side, y: int) -> None:
        """The row of an input, which turns or is read directly as ``crossings.py`` says."""
        edge, step = self._edge(side), side.inwards
        self._pin(strand.name, Role.INPUT, side, (edge, y, self.rows))
        crossings = self.folding.crossings[strand.name]
        busy = {crossing.x for crossing in crossings}
        facing, to = (Direction.NX, Direction.PX)[::step]
        start, free, reach = edge, edge, self.order.rules.reach
        strength = self.order.first_strength(strand.name)
        for crossing in crossings:
            x = crossing.x
            if crossing.turned:
                self._wires(y, self.rows, start, free, step, busy, strength)
                self.canvas.put((free, y, self.rows), SOLID)
                self.canvas.put((free + step, y, self.rows), inverter(facing))
                start, strength = free + 2 * step, reach
            if crossing.direct:
                self._wires(y, self.rows, start, x - step, step, busy, strength)
                self.canvas.put((x - 2 * step, y, self.rows - 1), SOLID)
                self.canvas.restorer((x - step, y, self.rows - 1), to)
                start, strength = x, reach
            free = x + step
        self._wires(y, self.rows, start, free, step, busy, strength)

    def _output(self, strand: Strand, side: Side, y: int) -> None:
        """The row of an output, from the column farthest from its side."""
        edge, step = self._edge(side), -side.inwards
        self._pin(strand.name, Role.OUTPUT, side, (edge, y, self.outputs))
        last = edge
        if strand.inverted:
            self.canvas.put((edge - step, y, self.outputs), SOLID)
            facing = Direction.NX if step > 0 else Direction.PX
            self.canvas.put((edge, y, self.outputs), inverter(facing))
            last = edge - 2 * step
        fed = {self.folding.places[number] + self.form.shift for number in strand.columns}
        if fed:
            start = min(fed) if step > 0 else max(fed)
            spare = 0 if strand.inverted else self.order.spare(strand.name)
            reach = self.order.rules.reach
            self._wires(y, self.outputs, start, last + step, step, fed, reach, spare)

    def _wires(
        self,
        y: int,
        height: int,
        start: int,
        stop: int,
        step: int,
        busy: Collection[int],
        strength: int,
        spare: int = 0,
    ) -> None:
        """Wires from ``start`` until before ``stop``, repeated where no column needs a wire."""
        cells: list[Cell] = [(x, y, height) for x in range(start, stop, step)]
        breaks = {cell for cell in cells if cell[0] not in busy}
        self.canvas.line(cells, strength=strength, breaks=breaks, spare=spare)

    def _pin(self, name: str, role: Role, side: Side, at: Cell) -> None:
        self.canvas.pins.append(Pin(name, role, at, side.face, self.order.joints[name]))

    # Columns.

    def _crosspoints(self, x: int, lanes: Collection[int]) -> list[int]:
        """Read rows of inputs into the column at x; returns the y at which they power it."""
        count = len(self.folding.inputs)
        direct = {
            2 * number
            for number, lane in enumerate(self.folding.inputs)
            for strand, _ in lane
            for crossing in self.folding.crossings[strand.name]
            if crossing.x == x and crossing.direct
        }
        hung = set(lanes) - direct
        free = next((lane for lane in range(0, 2 * count, 2) if lane not in hung), 2 * count)
        for lane in lanes:
            self.canvas.put((x, lane, self.rows - 1), SOLID)
        sources = [*direct]
        for lane in hung:
            facing = Direction.NY if lane < free else Direction.PY
            at = lane + 1 if lane < free else lane - 1
            self.canvas.put((x, at, self.rows - 1), inverter(facing))
            sources.append(at)
        return sources


class FoldedSheet(_Sheet):
    """Rows of outputs under the columns."""

    form = Form(shift=1, turn=2, most_outputs=None)
    rows, columns, outputs = 5, 3, 1

    def _output_places(self, folding: Folding) -> Sequence[int]:
        spare = len(folding.inputs) - len(folding.outputs)
        first = 2 * (max(0, spare) // 2)
        if folding.full and spare >= 0:
            # An inverter lies beyond the last row of inputs; the first wire of a column does not
            # lie under the first one, where it would touch the column of the copy beside it.
            first += 1
        return [first + 2 * number for number in range(len(folding.outputs))]

    def _tap(self, x: int, y: int) -> int:
        self.canvas.put((x, y, self.columns - 1), SOLID)
        self.canvas.put((x + 1, y, self.columns - 1), inverter(Direction.NX))
        return y


class FlatSheet(_Sheet):
    """Rows of outputs beside the rows of inputs."""

    # A wire beside a standing inverter connects to it, and so does not run towards a host.
    form = Form(shift=0, turn=3, most_outputs=2)
    rows, columns, outputs = 3, 1, 2

    def _output_places(self, folding: Folding) -> Sequence[int]:
        beyond = 2 * len(folding.inputs) + folding.full
        return (beyond, -2)[: len(folding.outputs)]

    def _tap(self, x: int, y: int) -> int:
        inwards = 1 if y < 0 else -1
        self.canvas.put((x, y + inwards, self.columns), SOLID)
        self.canvas.put((x, y + inwards, self.outputs), inverter(Direction.NZ))
        return y + 2 * inwards
