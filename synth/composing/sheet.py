"""The sheet: rows of terms over columns of products over rows of outputs. Always works.

Heights, from the top: terms are wires along x at height 5; a product is a wire along y at height
3; an output is a wire along x at height 1. Where a row crosses a column that reads it, a solid
lies under the row with an inverter on its +y side, just above the column: the column has power
while any term is not as the product wants it. Where a column crosses the row of a node that has it,
a solid lies under the column with an inverter on its +x side, just above the row: the row has power
while any such column has none. Rows of terms lie two cells apart, as do columns.

The complement of an input gets a row of its own: beside the row of the input, where that is read
as well, behind an inverter at its head, else in its place. A node that products read climbs
to height 5 at the end of its row and goes on there; the columns that read it lie beyond.

A stack along y is as it stands; along z the next copy's ledges lie on this one's rows.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from synth.composing.canvas import LONGEST, Canvas, Unbuildable
from synth.composing.columns import paint_column
from synth.composing.network import Source, Term
from synth.composing.order import Order, Side
from synth.layout import Layout, Pin
from synth.medium import SOLID, Cell, Direction, Role, inverter

TERMS, HOSTS, COLUMNS, TAPS, NODES = 5, 4, 3, 2, 1
"""Heights."""

FIRST_COLUMN = 2
"""Where the first column may lie: behind the head of a complement's row."""


@dataclass
class _Column:
    """A product: where it lies, the terms it reads and the lanes of rows that it feeds."""

    x: int
    terms: frozenset[Term]
    lanes: list[int]


class Sheet:
    """Paints one sheet."""

    def __init__(self, order: Order, *, apart: bool = False) -> None:
        """
        Args:
            order: what to paint.
            apart: whether rows of outputs lie beyond the rows of terms, not under them. Needed
                where columns are so long that signals may run one way only.
        """
        self.order = order.with_passages(both_ends=True)
        self.network = self.order.network
        self.apart = apart
        self.canvas = Canvas(order.rules)
        self.lane: dict[Term, int] = {}
        self.out_lane: dict[str, int] = {}
        self.heads: dict[str, int] = {}
        self.columns: list[_Column] = []
        self.inner = {node.name for node in self.network.nodes if self._read(node.name)}
        self.climbs: dict[str, int] = {}
        self.width = 0
        self.end = 0

    def layout(self) -> Layout:
        """The layout, its first lane at y = 0."""
        self._give_lanes()
        self._give_places()
        self.end = max(self.end, self.order.end)
        if self.end >= LONGEST:
            raise Unbuildable("longer than a layout may be")
        for term, lane in self.lane.items():
            self._row(term, lane)
        for name in self.network.inputs:
            if name not in self.heads:
                raise Unbuildable(f"input {name} has no head")
        for column in self.columns:
            self._column(column)
        for node in self.inner:
            self._climb(node)
        for name, source in self.network.outputs.items():
            self._output(name, source)
        painted = self.canvas.layout(ground=self.order.ground)
        return self._with_room(painted)

    def _with_room(self, painted: Layout) -> Layout:
        """As wide as its lanes, so that copies beside it keep the distance of lanes."""
        if self.order.stack != "y" or painted.width >= self.width:
            return painted
        length, _, height = painted.size
        return painted.replace(size=(length, self.width, height))

    # Where things lie.

    def _read(self, name: str) -> bool:
        return any(term.name == name for product in self.network.products for term in product)

    def _give_lanes(self) -> None:
        terms = set(self.network.terms)
        lane = 0
        for name in self.network.inputs:
            positive, negative = Term(name), Term(name, positive=False)
            self.heads[name] = lane
            if positive in terms or negative not in terms:
                self.lane[positive] = lane
                lane += 2
            if negative in terms:
                self.lane[negative] = lane
                lane += 2
        low = set()
        for node in self.network.nodes:
            if node.name in self.inner:
                self.lane[Term(node.name)] = lane
                low.add(lane)
                lane += 2
        self.width = max(lane, 2)
        self._give_output_lanes(low)

    def _give_output_lanes(self, low: set[int]) -> None:
        """Lanes for outputs that no term's row ends in, two apart from whatever lies as low."""
        names = [
            name
            for name, source in self.network.outputs.items()
            if source.term is None or self._is_node(source.term)
        ]
        middle = self.width / 2
        first = self.width - 1 if self.apart else 1
        every = range(first, self.width + 2 * len(names) + 2 * len(low) + 2)
        wanted: Iterable[int] = every
        if not self.apart:
            odd = [lane for lane in every if lane % 2 and lane < self.width]
            wanted = sorted(odd, key=lambda lane: (abs(lane - middle), lane))
            wanted = [*wanted, *range(self.width + 1 - self.width % 2, every.stop)]
        chosen: list[int] = []
        for lane in wanted:
            if len(chosen) == len(names):
                break
            if all(abs(lane - other) >= 2 for other in (*chosen, *low)):
                chosen.append(lane)
        for name, lane in zip(names, sorted(chosen), strict=True):
            self.out_lane[name] = lane
            self.width = max(self.width, lane + 1)
        if self.width % 2:
            self.width += 1

    def _is_node(self, term: Term) -> bool:
        return term.name not in self.network.inputs

    def _give_places(self) -> None:
        x = FIRST_COLUMN
        placed: dict[frozenset[Term], _Column] = {}
        for node in self.network.nodes:
            for product in node.products:
                if product not in placed:
                    placed[product] = _Column(x, product, [])
                    x += 2
            lanes = [
                self.out_lane[name]
                for name, source in self.network.outputs.items()
                if source.term == Term(node.name)
            ]
            if node.name in self.inner:
                lanes.append(self.lane[Term(node.name)])
                self.climbs[node.name] = x
                x += TERMS - NODES + 1
            for product in node.products:
                placed[product].lanes += lanes
        self.columns = list(placed.values())
        turned = any(
            (source.inverted or source.term is None) and self.order.sides[name] is Side.RIGHT
            for name, source in self.network.outputs.items()
        )
        from_right = any(self.order.sides[name] is Side.RIGHT for name in self.network.inputs)
        if self.columns:
            self.end = x + (2 if turned else 1 if from_right else 0) - 1
        elif any(not term.positive for term in self.lane) or any(
            source.inverted for source in self.network.outputs.values()
        ):
            self.end = 2

    # Rows of terms.

    def _row(self, term: Term, lane: int) -> None:
        if self._is_node(term):
            return  # It is painted together with its climb.
        name = term.name
        side = self.order.sides[name]
        edge = 0 if side is Side.LEFT else self.end
        step = side.inwards
        ahead = [column.x for column in self.columns if term in column.terms]
        ends = [
            output
            for output, source in self.network.outputs.items()
            if source.term == term and not source.inverted
        ]
        if ends:
            ahead.append(self.end - edge if edge else self.end)
        own_head = self.heads[name] == lane
        if own_head:
            at = (edge, lane, TERMS)
            self.canvas.pins.append(Pin(name, Role.INPUT, at, side.face, self.order.joints[name]))
        both = {Term(name), Term(name, positive=False)} <= set(self.lane)
        if not term.positive and not own_head:
            self._complement_beside(edge, lane)
            start, strength = edge + step, self.order.rules.reach - 1
        elif not term.positive:
            self.canvas.put((edge, lane, TERMS), SOLID)
            facing = Direction.NX if step > 0 else Direction.PX
            self.canvas.put((edge + step, lane, TERMS), inverter(facing))
            start, strength = edge + 2 * step, self.order.rules.reach
        elif not ahead and not both:
            return  # Nothing reads it, so its pin is on an empty cell.
        else:
            start, strength = edge, self.order.first_strength(name)
            ahead.append(edge)
        last = max(ahead, key=lambda x: (x - edge) * step)
        cells = [(x, lane, TERMS) for x in range(start, last + step, step)]
        if (last - start) * step < 0:
            cells = []
        spare = max((self.order.spare(output) for output in ends), default=0)
        if ends and not term.positive and own_head and not cells:
            raise Unbuildable("no room for a complement that goes straight on")
        read = {column.x for column in self.columns if term in column.terms}
        breaks = {cell for cell in cells if cell[0] not in read}
        self.canvas.line(cells, strength=strength, breaks=breaks, spare=spare)
        for output in ends:
            self._pin_output(output, (last, lane, TERMS))

    def _complement_beside(self, edge: int, lane: int) -> None:
        """The head of a complement's row, two lanes beyond that of its input.

        A solid under the first wire of the input, an inverter on its +y side, and a wire beside
        that from which the row climbs.
        """
        self.canvas.put((edge, lane - 2, HOSTS), SOLID)
        self.canvas.put((edge, lane - 1, HOSTS), inverter(Direction.NY))
        self.canvas.wire((edge, lane, HOSTS))

    # Columns.

    def _column(self, column: _Column) -> None:
        x = column.x
        sources = []
        for term in sorted(column.terms):
            lane = self.lane[term]
            self.canvas.put((x, lane, HOSTS), SOLID)
            self.canvas.put((x, lane + 1, HOSTS), inverter(Direction.NY))
            sources.append(lane + 1)
        for lane in column.lanes:
            self.canvas.put((x, lane, TAPS), SOLID)
            self.canvas.put((x + 1, lane, TAPS), inverter(Direction.NX))
        paint_column(self.canvas, x, COLUMNS, sources, column.lanes)

    # Rows of nodes.

    def _climb(self, node: str) -> None:
        """The row of a node that products read, and its climb to the rows of terms."""
        term = Term(node)
        lane = self.lane[term]
        fed = [column.x for column in self.columns if lane in column.lanes]
        read = [column.x for column in self.columns if term in column.terms]
        start, foot = min(fed) + 1, self.climbs[node]
        cells: list[Cell] = [(x, lane, NODES) for x in range(start, foot)]
        busy = {x + 1 for x in fed}
        breaks = {cell for cell in cells[:-1] if cell[0] not in busy}
        cells += [(foot + up, lane, NODES + 1 + up) for up in range(TERMS - NODES)]
        level = [(x, lane, TERMS) for x in range(foot + TERMS - NODES, max(read) + 1)]
        breaks |= {cell for cell in level if cell[0] not in read}
        self.canvas.line([*cells, *level], breaks=breaks)

    def _output(self, name: str, source: Source) -> None:
        if source.term is not None and not self._is_node(source.term):
            return  # The end of the term's own row.
        lane = self.out_lane[name]
        side = self.order.sides[name]
        edge = 0 if side is Side.LEFT else self.end
        outwards = -side.inwards
        at = (edge, lane, NODES)
        last = edge
        if source.inverted:
            host = edge - outwards
            self.canvas.put((host, lane, NODES), SOLID)
            facing = Direction.NX if outwards > 0 else Direction.PX
            self.canvas.put(at, inverter(facing))
            last = host - outwards
        self._pin_output(name, at)
        if source.term is None:
            return
        fed = [column.x + 1 for column in self.columns if lane in column.lanes]
        start = min(fed) if outwards > 0 else max(fed)
        cells = [(x, lane, NODES) for x in range(start, last + outwards, outwards)]
        spare = 0 if source.inverted else self.order.spare(name)
        breaks = {cell for cell in cells if cell[0] not in fed}
        self.canvas.line(cells, breaks=breaks, spare=spare)

    def _pin_output(self, name: str, at: Cell) -> None:
        side = self.order.sides[name]
        self.canvas.pins.append(Pin(name, Role.OUTPUT, at, side.face, self.order.joints[name]))
