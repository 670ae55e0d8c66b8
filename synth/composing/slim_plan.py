"""The places of everything in a layout of width 2 (``slim.py``): levels of rows, x of columns.

Everything lies in one upright plane, two cells thick. *Rows* are wires along x in the lane y = 0,
one above another: terms at the bottom, nodes above. *Columns* are wires that climb in zigzag in
the lane y = 1. Where a column passes a row, the row is cut by a buffer, which takes a tick.
``slim_order.py`` looks for an order of columns and rows that saves some of them.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import TypeVar

from synth.composing.canvas import Unbuildable
from synth.composing.network import Term
from synth.composing.order import Order, Side

T = TypeVar("T")

PITCH = 3
"""Cells along x from column to column."""

HANDOVER = 4
"""Cells along x from one part of a long column to the next."""

TERM_STEP, NODE_STEP = 2, 4
"""Levels from one row of a term to the next, and from any row to that of a node above it."""

LOWEST = 2
"""Level of the lowest row: an inverter and the foot of a column lie below."""


@dataclass
class Climb:
    """One part of a column: it climbs at ``x`` (odd levels) and ``x + 1`` (even levels).

    Attributes:
        x: the place where it climbs.
        start: the odd level at which it starts.
        stop: the last level: even, at ``x + 1``, or, before a handover, odd, at ``x + 2``.
        terms: levels of the rows of terms that it reads.
        nodes: levels of the rows of nodes that it feeds.
        last: whether the column ends here.
    """

    x: int
    start: int
    stop: int
    terms: list[int]
    nodes: list[int]
    last: bool = True

    def reads_at(self, level: int) -> int:
        """The x at which it reads the row of a term at this level."""
        return self.x + 1 if level > self.stop else self.x - 1

    def passes(self, level: int) -> bool:
        """Whether it cuts a row at this even level."""
        return self.start < level <= self.stop


@dataclass(frozen=True)
class OutRow:
    """A row that a node feeds.

    Attributes:
        node: the node.
        outputs: the outputs it ends in, at most one; none for a row that only columns read.
        inverted: whether it ends in an inverter.
        side: the side it runs to.
    """

    node: str
    output: str | None
    inverted: bool
    side: Side


@dataclass(frozen=True)
class Arrangement:
    """An order of columns, and of rows from the bottom up."""

    products: tuple[frozenset[Term], ...]
    terms: tuple[Term, ...]
    nodes: tuple[OutRow, ...]


@dataclass
class Plan:
    """Levels and places that follow from an arrangement.

    Attributes:
        levels: the level of each term's row.
        out_levels: the level of each node's row.
        columns: the parts of each column, by product.
        first: the x at which the first column reads rows.
        end: the last cell along x.
    """

    order: Order
    arrangement: Arrangement
    levels: dict[Term, int] = field(default_factory=dict)
    out_levels: dict[OutRow, int] = field(default_factory=dict)
    columns: dict[frozenset[Term], list[Climb]] = field(default_factory=dict)
    first: int = 0
    end: int = 0

    @property
    def climbs(self) -> list[Climb]:
        """The parts of all columns, from left to right."""
        return [climb for parts in self.columns.values() for climb in parts]


def out_rows(order: Order) -> tuple[OutRow, ...]:
    """The rows that nodes need: one for each output, one of them read by columns as well."""
    network = order.network
    read = {term.name for product in network.products for term in product}
    rows: list[OutRow] = []
    for node in network.nodes:
        own = [
            OutRow(node.name, name, source.inverted, order.sides[name])
            for name, source in network.outputs.items()
            if source.term == Term(node.name)
        ]
        own.sort(key=lambda row: (row.inverted, row.side is Side.LEFT))
        if node.name in read and (not own or own[0].inverted or own[0].side is Side.LEFT):
            own.insert(0, OutRow(node.name, None, False, Side.RIGHT))
        rows += own
    return tuple(rows)


def first_arrangement(order: Order) -> Arrangement:
    """Columns in order of nodes; the leftmost row of a node is on top, because no column cuts it.

    Nodes that columns read lie below all nodes that those columns feed.
    """
    network = order.network
    inputs = set(network.inputs)
    terms = [term for name in network.inputs for term in terms_of(name, network.terms)]
    terms = [term for term in terms if term.name in inputs]
    names = sorted(inputs, key=lambda name: _height(order, name, network.inputs.index(name)))
    rows = out_rows(order)
    flat = set(unread(order))
    inner = [row for row in rows if row.node not in flat]
    last = [row for row in reversed(rows) if row.node in flat]
    last.sort(key=lambda row: _height(order, row.output or "", 0))
    nodes = (*inner, *last)
    if len(order.chain) > 1:
        names = _in_order_of_links(order, names, nodes)
        # An input of a link that nobody reads has its place among the others, too.
        terms += [Term(link.input) for link in order.chain if not terms_of(link.input, terms)]
    terms = [term for name in names for term in terms_of(name, terms)]
    return Arrangement(network.products, tuple(terms), nodes)


def _in_order_of_links(order: Order, names: Sequence[str], nodes: Sequence[OutRow]) -> list[str]:
    """Inputs from the bottom up, those of links in the order of the outputs that lead to them."""
    constants = [name for name, source in order.network.outputs.items() if source.term is None]
    outputs = [*(row.output for row in nodes), *constants]
    links = sorted(order.chain, key=lambda link: outputs.index(link.output))
    linked = iter(links)
    inputs = {link.input for link in links}
    return [next(linked).input if name in inputs else name for name in names]


def _height(order: Order, name: str, otherwise: int) -> tuple[int, int]:
    """A sort key for rows: those whose pin has a height asked come first, from the bottom up."""
    place = order.places.get(name)
    return (1, otherwise) if place is None else (0, place[1])


def terms_of(name: str, terms: Sequence[Term]) -> list[Term]:
    """The complement first: its row lies below, at the level of the pin."""
    both = (Term(name, positive=False), Term(name))
    return [term for term in both if term in terms]


def plan(order: Order, arrangement: Arrangement) -> Plan:
    """Levels and places of an arrangement.

    Raises:
        Unbuildable: if strength cannot be carried up a column.
    """
    made = Plan(order, arrangement)
    unused = [Term(name) for name in order.network.inputs if not terms_of(name, arrangement.terms)]
    terms = (*arrangement.terms, *unused)
    ground = _ground(order, terms)
    level = LOWEST
    for index, term in enumerate(terms):
        follows = index and term.name == terms[index - 1].name
        if not follows:
            level = _asked_level(order, term.name, level, ground)
        made.levels[term] = level
        level += TERM_STEP
    level += NODE_STEP - TERM_STEP
    for row in arrangement.nodes:
        level = _asked_level(order, row.output, level, ground)
        made.out_levels[row] = level
        level += NODE_STEP
    complements = any(not term.positive for term in arrangement.terms)
    made.first = 2 if complements else 0
    x = made.first + 1
    for product in arrangement.products:
        fed = [made.out_levels[row] for row in arrangement.nodes if feeds_row(order, product, row)]
        read = sorted(level_of(made, term) for term in product)
        parts = _parts(x, read, sorted(fed), order.rules.reach)
        made.columns[product] = parts
        x = parts[-1].x + PITCH
    made.end = x - 1
    if not arrangement.products:
        made.end = made.first
    rightmost = [row for row in arrangement.nodes if row.inverted and row.side is Side.RIGHT]
    from_right = any(
        order.sides[term.name] is Side.RIGHT and not term.positive for term in arrangement.terms
    )
    made.end += 2 if rightmost or from_right or _constants(order) else 0
    right = [x for name, (x, _) in order.places.items() if order.sides[name] is Side.RIGHT]
    made.end = max([made.end, order.end, *right])
    if len(order.chain) > 1:
        _require_links_in_order(made)
    return made


def _require_links_in_order(made: Plan) -> None:
    """The rows of several links must not have to cross behind the right end (``slices.py``).

    Raises:
        Unbuildable: if a lower output leads to a higher input.
    """
    names = list(dict.fromkeys(term.name for term in made.arrangement.terms))
    if _in_order_of_links(made.order, names, made.arrangement.nodes) != names:
        raise Unbuildable("rows of links would cross")


def _ground(order: Order, terms: Sequence[Term]) -> int:
    """The difference between heights asked and levels: the lowest pin has the lowest level."""
    if not terms or not order.places:
        return 0
    place = order.places.get(terms[0].name)
    heights = [height for _, height in order.places.values()]
    return (min(heights) if place is None else place[1]) - LOWEST


def _asked_level(order: Order, name: str | None, least: int, ground: int) -> int:
    """The level of a pin whose height is asked, or else the least free level.

    Raises:
        Unbuildable: if that level is taken, or odd.
    """
    place = order.places.get(name or "")
    if place is None:
        return least
    level = place[1] - ground
    if level < least or level % 2:
        raise Unbuildable(f"pin {name} cannot be at height {place[1]}")
    return level


def _constants(order: Order) -> bool:
    return any(source.term is None and source.inverted for source in order.network.outputs.values())


def feeds_row(order: Order, product: frozenset[Term], row: OutRow) -> bool:
    return any(node.name == row.node and product in node.products for node in order.network.nodes)


def level_of(made: Plan, term: Term) -> int:
    """The level of the row in which columns read a term."""
    if term in made.levels:
        return made.levels[term]
    for row, level in made.out_levels.items():
        if row.node == term.name and row.side is Side.RIGHT and not row.inverted:
            return level
    raise Unbuildable(f"no row of {term}")


def _parts(x: int, read: list[int], fed: list[int], reach: int) -> list[Climb]:
    """The parts of a column that reads and feeds rows at these levels."""
    start, stop = read[0] - 1, fed[-1] - 2
    if read[-1] > stop:
        # It reads a row above all that it feeds, which lies below its foot or beside it.
        raise Unbuildable("a column would have to run down")
    parts: list[Climb] = []
    while stop - start + 1 > reach:
        over = start + reach - 1
        over -= 1 - over % 2  # an odd level, as far up as strength carries
        while over + 1 in fed:
            over -= 2  # parts under a row that is fed would power the wire handed over
        if over <= start + 1:
            raise Unbuildable("wires carry too little strength for a column")
        # The row just above is read on the way over, before the buffer.
        own = [level for level in read if start < level <= over + 1]
        feeds = [level for level in fed if start < level - 2 < over]
        parts.append(Climb(x, start, over, own, feeds, last=False))
        read = [level for level in read if level > over + 1]
        fed = [level for level in fed if level - 2 > over]
        x, start = x + HANDOVER, over
    parts.append(Climb(x, start, stop, read, fed))
    return parts


def unread(order: Order) -> list[str]:
    """Nodes that no product reads."""
    read = {term.name for product in order.network.products for term in product}
    return [node.name for node in order.network.nodes if node.name not in read]
