"""The slim layout: everything in a box 2 wide that stacks along y at a pitch of 2.

Between copies at that pitch no two wires may face each other across y, so all signals
lie in one upright plane and cross by turns only: of two that cross, one is no wire just there.
``slim_plan.py`` says what lies where. Seen along y, in lane 0 and lane 1 at a column's ``x``:

- A row is a wire in lane 0 at an even level. Passing a column it is a solid at ``x`` and a buffer
  at ``x + 1``: the row charges the solid, the buffer sees that, and neither takes part in what the
  column does beside it.
- A column climbs in lane 1 on ledges, at ``x`` on odd levels and at ``x + 1`` on even ones. Ledges
  pass a signal up only.
- A column reads a row at ``x - 1``: a solid under the row, an inverter on its +y side, whose power
  reaches the column beside it.
- A column feeds the row of a node at ``x + 2``: its wire two levels below the row runs towards a
  solid there, in lane 1; an inverter on its -y side drives the solid above, under the row.
- A column that is too long hands over: it climbs to ``x + 2``, passes a buffer and starts again at
  ``x + 4``; it reads the row just above that at ``x + 1``.
"""

from __future__ import annotations

from collections.abc import Iterable

from synth.composing.canvas import LONGEST, Canvas, Unbuildable
from synth.composing.network import Term
from synth.composing.order import Order, Side
from synth.composing.slim_order import delays, improved
from synth.composing.slim_plan import PITCH, Climb, OutRow, Plan, plan
from synth.layout import Layout, Pin
from synth.medium import SOLID, Direction, Role, inverter

ROWS, COLUMNS = 0, 1
"""The lanes along y."""


class Slim:
    """Paints one slim layout."""

    def __init__(self, order: Order) -> None:
        self.order = order.with_passages(both_ends=True)
        self.network = self.order.network
        self.canvas = Canvas(order.rules)

    def layout(self) -> Layout:
        """The layout, 2 wide.

        Raises:
            Unbuildable: if a line has no place for a buffer that it needs.
        """
        if PITCH * len(self.network.products) > LONGEST:
            raise Unbuildable("longer than a layout may be")
        made = plan(self.order, improved(self.order, self.order.tries))
        if made.end >= LONGEST:
            raise Unbuildable("longer than a layout may be")
        ticks = max(delays(made).values(), default=0)
        if self.order.delay is not None and ticks > self.order.delay:
            raise Unbuildable(f"{ticks} ticks or more")
        for product in made.arrangement.products:
            parts = made.columns[product]
            for number, part in enumerate(parts):
                self._climb(part, parts[number - 1] if number else None)
        for term in made.arrangement.terms:
            self._term_row(made, term)
        for name in self.network.inputs:
            if not any(term.name == name for term in made.arrangement.terms):
                edge = self._edge(made, self.order.sides[name])
                self._pin(name, Role.INPUT, edge, made.levels[Term(name)])
        for row, level in made.out_levels.items():
            self._node_row(made, row, level)
        self._constants(made)
        painted = self.canvas.layout(ground=self.order.ground)
        length, width, height = painted.size
        if self.order.stack == "y" and width < 2:
            return painted.replace(size=(length, 2, height))
        return painted

    def _edge(self, made: Plan, side: Side) -> int:
        return 0 if side is Side.LEFT else made.end

    def _pin(self, name: str, role: Role, x: int, level: int) -> None:
        side = self.order.sides[name]
        self.canvas.pins.append(
            Pin(name, role, (x, ROWS, level), side.face, self.order.joints[name])
        )

    # Columns.

    def _climb(self, climb: Climb, before: Climb | None) -> None:
        x = climb.x
        for level in climb.terms:
            at = climb.reads_at(level)
            self.canvas.put((at, ROWS, level - 1), SOLID)
            self.canvas.put((at, COLUMNS, level - 1), inverter(Direction.NY))
        cells = [(x + 1 - level % 2, COLUMNS, level) for level in range(climb.start, climb.stop)]
        cells.append((x + (1 if climb.last else 2), COLUMNS, climb.stop))
        self.canvas.line(cells)
        if before is not None:
            self.canvas.restorer((x - 1, COLUMNS, climb.start), Direction.PX)
            # Between the wire handed over and a row just above it.
            self.canvas.put((x - 2, COLUMNS, climb.start + 1), SOLID)
        for level in climb.nodes:
            self.canvas.put((x + 2, COLUMNS, level - 2), SOLID)
            self.canvas.put((x + 2, ROWS, level - 2), inverter(Direction.PY))
            self.canvas.put((x + 2, ROWS, level - 1), SOLID)

    # Rows.

    def _term_row(self, made: Plan, term: Term) -> None:
        name, level = term.name, made.levels[term]
        side = self.order.sides[name]
        edge, step = self._edge(made, side), side.inwards
        read = [
            part.reads_at(level)
            for product, parts in made.columns.items()
            if term in product
            for part in parts
            if level in part.terms
        ]
        ends = [
            output
            for output, source in self.network.outputs.items()
            if source.term == term and not source.inverted
        ]
        complement = Term(name, positive=False)
        last = self._last(made, read, ends, edge, step)
        if not term.positive:
            self.canvas.put((edge, ROWS, level), SOLID)
            facing = Direction.NX if step > 0 else Direction.PX
            self.canvas.put((edge + step, ROWS, level), inverter(facing))
            self._pin(name, Role.INPUT, edge, level)
            self._row(made, level, edge + 2 * step, last, read, ends)
        elif complement in made.levels:
            # It climbs over the head of its complement's row.
            below = made.levels[complement]
            if level != below + 2:
                raise Unbuildable("a term lies apart from its complement")
            strength = self.order.first_strength(name)
            head = [(edge, ROWS, below + 1), (edge + step, ROWS, level)]
            self.canvas.line(head, strength=strength)
            self._row(made, level, edge + 2 * step, last, read, ends, strength=strength - 2)
        else:
            self._pin(name, Role.INPUT, edge, level)
            strength = self.order.first_strength(name)
            self._row(made, level, edge, last, read, ends, strength=strength)

    def _last(self, made: Plan, read: list[int], ends: list[str], edge: int, step: int) -> int:
        ahead = [*read, edge]
        if ends:
            ahead.append(made.end if step > 0 else 0)
        return max(ahead, key=lambda x: (x - edge) * step)

    def _node_row(self, made: Plan, row: OutRow, level: int) -> None:
        fed = [
            part.x + 2 for parts in made.columns.values() for part in parts if level in part.nodes
        ]
        step = -row.side.inwards
        start = min(fed) if step > 0 else max(fed)
        if row.output is None:
            read = self._readers(made, row, level)
            self._row(made, level, start, max(read), [*read, *fed], [])
            return
        edge = self._edge(made, row.side)
        self._pin(row.output, Role.OUTPUT, edge, level)
        last = edge
        if row.inverted:
            self.canvas.put((edge - step, ROWS, level), SOLID)
            facing = Direction.NX if step > 0 else Direction.PX
            self.canvas.put((edge, ROWS, level), inverter(facing))
            last = edge - 2 * step
        busy = [*fed, *self._readers(made, row, level)]
        spare = 0 if row.inverted else self.order.spare(row.output)
        self._row(made, level, start, last, busy, [], spare=spare)

    def _readers(self, made: Plan, row: OutRow, level: int) -> list[int]:
        term = Term(row.node)
        return [
            part.reads_at(level)
            for product, parts in made.columns.items()
            if term in product
            for part in parts
            if level in part.terms
        ]

    def _row(
        self,
        made: Plan,
        level: int,
        start: int,
        last: int,
        busy: Iterable[int],
        ends: list[str],
        *,
        strength: int | None = None,
        spare: int = 0,
    ) -> None:
        """A row from one cell to another: wires, and a solid and a buffer at every column passed.

        Args:
            start, last: first and last cell along x.
            busy: cells that have to be wires.
            ends: outputs that it ends in.
            strength: of the first wire.
            spare: strength to leave behind the last wire.
        """
        step = 1 if last >= start else -1
        spare = max([spare, *(self.order.spare(output) for output in ends)])
        to = Direction.PX if step > 0 else Direction.NX
        enters = {
            (climb.x if step > 0 else climb.x + 1) for climb in made.climbs if climb.passes(level)
        }
        feet = {climb.x for climb in made.climbs if climb.start == level + 1}
        feet |= {climb.x + 2 for climb in made.climbs if not climb.last and climb.stop == level + 1}
        keep = set(busy)
        segment: list[tuple[int, int, int]] = []
        left = strength
        x = start
        while (last - x) * step >= 0:
            if x in enters:
                if not segment:
                    raise Unbuildable("a row has no wire before a column")
                self._segment(segment, left, keep)
                self.canvas.put((x, ROWS, level), SOLID)
                self.canvas.restorer((x + step, ROWS, level), to)
                segment, left = [], None
                x += 2 * step
                continue
            segment.append((x, ROWS, level))
            if x in feet:
                self.canvas.put((x, ROWS, level + 1), SOLID)
            x += step
        self._segment(segment, left, keep, spare)
        for output in ends:
            self._pin(output, Role.OUTPUT, last, level)

    def _segment(
        self,
        cells: list[tuple[int, int, int]],
        strength: int | None,
        keep: set[int],
        spare: int = 0,
    ) -> None:
        breaks = {cell for cell in cells if cell[0] not in keep}
        self.canvas.line(cells, strength=strength, breaks=breaks, spare=spare)

    def _constants(self, made: Plan) -> None:
        level = max([*made.levels.values(), *made.out_levels.values(), 0]) + 4
        for name, source in self.network.outputs.items():
            if source.term is not None:
                continue
            side = self.order.sides[name]
            edge, step = self._edge(made, side), side.inwards
            self._pin(name, Role.OUTPUT, edge, level)
            if source.inverted:
                self.canvas.put((edge + step, ROWS, level), SOLID)
                facing = Direction.PX if step > 0 else Direction.NX
                self.canvas.put((edge, ROWS, level), inverter(facing))
            level += 2
