"""The quick sheet: any sum of products of inputs within two ticks of the fastest buffer.

Every other sheet reads a complement behind an inverter, or delays a row where a column reads it
directly; here neither is needed, at the price of room. Rows of inputs are wires along x at height
3, four lanes apart; columns of products are wires along y at height 1. A column has power while
a literal of its product is off:

- Of a literal that is an input, a solid lies under the row with an inverter on its +y side, just
  above the column.
- Of a complement, the row has a branch of two cells towards +y, two cells before the column. A
  buffer at its end drives a solid above the column, which rises to height 2 just there, so that
  the solid touches it. The solid is two cells away from every row, so nothing runs back.

Each column runs towards a solid at its low end; an inverter on the far side of that powers the row
of the output. So it takes an inverter or a buffer to a column, and an inverter to the output.
It has one output of one level, stands alone, and is as large as wires reach.
"""

from __future__ import annotations

from itertools import pairwise

from synth.composing.canvas import Canvas, Unbuildable
from synth.composing.network import Node, Term
from synth.composing.order import Order, Side
from synth.layout import Layout, Pin
from synth.medium import SOLID, Direction, Role, inverter

ROWS, HOSTS, COLUMNS = 3, 2, 1
"""Heights."""

LANES = 4
"""Cells from row to row."""

ENDS, OUTPUT = -1, -3
"""Where columns end in solids, and where the row of the output lies, along y."""

FIRST, APART, APART_DIRECT = 2, 3, 4
"""Where the first column may lie, and the cells from column to column: more where both read the
same row directly, because the solid of one must not touch the branch of the other."""


class QuickSheet:
    """Paints one quick sheet."""

    def __init__(self, order: Order) -> None:
        self.order = order
        self.canvas = Canvas(order.rules)

    def layout(self) -> Layout:
        """The layout.

        Raises:
            Unbuildable: if the network has several levels or outputs, or a wire is too long.
        """
        products = self._products()
        places = self._places(products)
        end = max(self.order.end, *places)
        for lane, name in enumerate(self.order.network.inputs):
            self._row(name, lane * LANES, end, dict(zip(places, products, strict=True)))
        for x, product in zip(places, products, strict=True):
            self._column(x, product)
        self._output(places, end)
        return self.canvas.layout(ground=self.order.ground)

    def _products(self) -> list[frozenset[Term]]:
        network, order = self.order.network, self.order
        if order.stack is not None or order.chain or order.places:
            raise Unbuildable("a quick sheet stands alone, and its pins are where they are")
        if len(network.outputs) != 1 or len(network.nodes) != 1:
            raise Unbuildable("a quick sheet has one output of one level")
        (source,), (node,) = network.outputs.values(), network.nodes
        if source.inverted or source.term != Term(node.name) or not _is_plain(node):
            raise Unbuildable("a quick sheet has no inverter at its output")
        # Columns that read most directly come first: their branches take strength.
        return sorted(node.products, key=lambda one: (-len(_direct(one)), sorted(one)))

    def _places(self, products: list[frozenset[Term]]) -> list[int]:
        places = [FIRST]
        for before, product in pairwise(products):
            both = _direct(before) & _direct(product)
            places.append(places[-1] + (APART_DIRECT if both else APART))
        return places

    def _row(self, name: str, lane: int, end: int, columns: dict[int, frozenset[Term]]) -> None:
        """The row of an input, from its pin to the last column that reads it."""
        side = self.order.sides[name]
        edge = 0 if side is Side.LEFT else end
        at = (edge, lane, ROWS)
        self.canvas.pins.append(Pin(name, Role.INPUT, at, side.face, self.order.joints[name]))
        plain = [x for x, product in columns.items() if Term(name) in product]
        direct = [x for x, product in columns.items() if Term(name, positive=False) in product]
        for x in plain:
            self.canvas.put((x, lane, HOSTS), SOLID)
            self.canvas.put((x, lane + 1, HOSTS), inverter(Direction.NY))
        ends = [edge, *plain, *(x - 2 for x in direct)]
        strength = self.order.first_strength(name)
        needed = [abs(x - edge) + 1 for x in plain] + [abs(x - 2 - edge) + 3 for x in direct]
        if max(needed, default=0) > strength:
            raise Unbuildable("a row is too long")
        if len(ends) > 1:
            for x in range(min(ends), max(ends) + 1):
                self.canvas.wire((x, lane, ROWS))
        for x in direct:
            self.canvas.wire((x - 2, lane + 1, ROWS))
            self.canvas.wire((x - 2, lane + 2, ROWS))
            self.canvas.restorer((x - 1, lane + 2, ROWS), Direction.PX)
            self.canvas.put((x, lane + 2, ROWS), SOLID)

    def _column(self, x: int, product: frozenset[Term]) -> None:
        lanes = {name: lane * LANES for lane, name in enumerate(self.order.network.inputs)}
        raised = {lanes[term.name] + 2 for term in _direct(product)}
        last = max(lanes[term.name] + (1 if term.positive else 2) for term in product)
        if last - ENDS > self.order.rules.reach:
            raise Unbuildable("a column is too long")
        for y in range(ENDS + 1, last + 1):
            if y in raised:
                # On a solid: the signal has to come down again.
                self.canvas.put((x, y, COLUMNS), SOLID)
                self.canvas.wire((x, y, HOSTS))
            else:
                self.canvas.wire((x, y, COLUMNS))
        self.canvas.put((x, ENDS, COLUMNS), SOLID)
        self.canvas.put((x, ENDS - 1, COLUMNS), inverter(Direction.PY))

    def _output(self, places: list[int], end: int) -> None:
        (name,) = self.order.network.outputs
        side = self.order.sides[name]
        edge = 0 if side is Side.LEFT else end
        low, high = min(edge, *places), max(edge, *places)
        if high - low + 1 + self.order.spare(name) > self.order.rules.reach:
            raise Unbuildable("the row of the output is too long")
        for x in range(low, high + 1):
            self.canvas.wire((x, OUTPUT, COLUMNS))
        at = (edge, OUTPUT, COLUMNS)
        self.canvas.pins.append(Pin(name, Role.OUTPUT, at, side.face, self.order.joints[name]))


def _is_plain(node: Node) -> bool:
    """Whether a node has products, and none of them is empty."""
    return bool(node.products) and all(node.products)


def _direct(product: frozenset[Term]) -> set[Term]:
    """The literals of a product that its column reads directly."""
    return {term for term in product if not term.positive}
