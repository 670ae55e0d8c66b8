"""Lanes that signals share: an order of columns, and which signals lie end to end in one lane.

A *strand* is the wire of one pin: that of an input runs from its side of the box to the last column
that reads it, that of an output from the first column that feeds it to its side. Two strands share
a lane if all columns of one lie left of those of the other, which then comes from the right
(folding of programmable arrays; from memory). An input has one lane for itself and its complement:
between columns that read the one and columns that read the other stands an inverter, for which
neighbouring columns move apart by a cell. What all that costs follows from the order of
columns. ``folded`` looks for a good one by annealing (S. Kirkpatrick and others, 1983; from memory).
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from random import Random

from synth.composing.canvas import LONGEST, Unbuildable
from synth.composing.network import Source, Term
from synth.composing.order import Order, Side

PITCH, PARTED = 2, 3
"""Cells along x from column to column, and where an inverter stands in a lane between them."""

TURN = 2
"""Cells that an inverter in a lane takes: its host and itself."""

MOST_STEPS, MOST_WORK = 3000, 60_000
"""Most steps of annealing, and of steps times columns."""


@dataclass(frozen=True)
class Strand:
    """The wire of a pin.

    Attributes:
        name: the pin.
        sides: the sides that it may come from, the better one first.
        columns: the columns that it touches, each a number of a product; for an input, whether the
            column reads it as it is (True) or its complement.
        inverted: whether it ends in an inverter before its pin.
        alone: whether it takes a lane for itself.
    """

    name: str
    sides: tuple[Side, ...]
    columns: Mapping[int, bool]
    inverted: bool = False
    alone: bool = False


@dataclass(frozen=True)
class Form:
    """A shape of sheet: what lanes come to.

    Attributes:
        shift: the step along x from a column to the cell in which it feeds an output.
        most_outputs: the most lanes of outputs, or None.
    """

    shift: int
    most_outputs: int | None

    def width(self, inputs: int, outputs: int, full: bool, stacked: bool) -> int:
        """Cells across.

        Args:
            inputs, outputs: how many lanes there are.
            full: whether some column reads every lane of inputs.
            stacked: whether copies lie beside it.
        """
        if self.most_outputs is None:
            lanes = max(inputs, outputs)
            return 2 * lanes if stacked or (full and lanes == inputs) else 2 * lanes - 1
        return 2 * inputs - 1 + 2 * outputs + full + stacked


Lane = tuple[tuple[Strand, Side], ...]
"""One strand, or two: the one from the left first."""


@dataclass(frozen=True)
class Folding:
    """Where everything lies.

    Attributes:
        products: the products from left to right.
        places: the x of each column, by the number of its product.
        end: the last cell along x.
        inputs, outputs: the lanes.
        full: whether some column reads every lane of inputs.
    """

    products: tuple[int, ...]
    places: Mapping[int, int]
    end: int
    inputs: tuple[Lane, ...]
    outputs: tuple[Lane, ...]
    full: bool


@dataclass(frozen=True)
class Strands:
    """What is to be folded.

    Attributes:
        products: the products, each a column.
        inputs, outputs: the strands.
    """

    products: tuple[frozenset[Term], ...]
    inputs: tuple[Strand, ...]
    outputs: tuple[Strand, ...]


def strands_of(order: Order) -> Strands:
    """The strands of an order of two levels.

    Raises:
        Unbuildable: if products read nodes, or there are none.
    """
    network = order.network
    nodes = {node.name: node.products for node in network.nodes}
    products: dict[frozenset[Term], int] = {}
    outputs = []
    for name, source in network.outputs.items():
        own, inverted = _products_of(source, nodes)
        fed = {products.setdefault(product, len(products)): True for product in own}
        outputs.append(Strand(name, order.options_of(name), fed, inverted, alone=not own))
    if not products:
        raise Unbuildable("nothing to fold")
    if any(term.name in nodes for product in products for term in product):
        raise Unbuildable("several levels")
    inputs = []
    for name in network.inputs:
        read = {
            number: term.positive
            for product, number in products.items()
            for term in product
            if term.name == name
        }
        inputs.append(Strand(name, order.options_of(name), read, alone=not read))
    return Strands(tuple(products), tuple(inputs), tuple(outputs))


def _products_of(
    source: Source, nodes: Mapping[str, tuple[frozenset[Term], ...]]
) -> tuple[tuple[frozenset[Term], ...], bool]:
    """The products whose OR an output is, and whether it is the complement of that."""
    term = source.term
    if term is None:
        return (), source.inverted
    if term.name in nodes:
        return nodes[term.name], source.inverted is term.positive
    return (frozenset([Term(term.name, source.inverted is not term.positive)]),), False


def folded(order: Order, form: Form) -> tuple[Strands, Folding]:
    """The strands of an order and a good way to lay them; the same in every run.

    Raises:
        Unbuildable: if this form has no room for them, or it would be longer than a box may be.
    """
    strands = strands_of(order)
    if PARTED * len(strands.products) > LONGEST:
        raise Unbuildable("longer than a layout may be")
    folder = _Folder(strands, form, order.stack == "y", order.end)
    return strands, folder.folding(_annealed(folder))


def _annealed(folder: _Folder) -> list[int]:
    """An order of columns of low cost."""
    count = len(folder.strands.products)
    rng = Random(0)
    now = folder.first()
    cost = folder.cost(now)
    best, least = now, cost
    steps = min(MOST_STEPS, MOST_WORK // count) if count > 2 else count - 1
    hot, cold = 0.08 * cost, 0.002 * cost
    for step in range(steps):
        heat = hot * (cold / hot) ** (step / steps)
        other = _changed(now, rng)
        value = folder.cost(other)
        if value <= cost or rng.random() < math.exp((cost - value) / heat):
            now, cost = other, value
            if value < least:
                best, least = other, value
    return best


def _changed(columns: list[int], rng: Random) -> list[int]:
    """Another order: a column in another place, or a stretch the other way round."""
    first, second = sorted(rng.sample(range(len(columns)), 2))
    kind = rng.randrange(3)
    if kind == 0:
        turned = columns[first : second + 1]
        turned.reverse()
        return [*columns[:first], *turned, *columns[second + 1 :]]
    if kind == 1:
        first, second = second, first
    moved = list(columns)
    moved.insert(second, moved.pop(first))
    return moved


class _Folder:
    """What an order of columns comes to."""

    def __init__(self, strands: Strands, form: Form, stacked: bool, end: int) -> None:
        self.strands = strands
        self.form = form
        self.stacked = stacked
        self.least_end = end
        self.most_read = max(len(product) for product in strands.products)
        self.outputs = {strand.name for strand in strands.outputs}
        count = len(strands.products)
        self.touched: list[list[tuple[str, bool]]] = [[] for _ in range(count)]
        for strand in (*strands.inputs, *strands.outputs):
            for column, positive in strand.columns.items():
                self.touched[column].append((strand.name, positive))
        self.gaps = [[PITCH] * count for _ in range(count)]
        for strand in strands.inputs:
            for one, positive in strand.columns.items():
                for other, its in strand.columns.items():
                    if positive is not its:
                        self.gaps[one][other] = PARTED

    def first(self) -> list[int]:
        """An order to begin with: each next column differs least from the one before."""
        rest = list(range(1, len(self.gaps)))
        columns = [0]
        while rest:
            last = self.gaps[columns[-1]]
            nearest = min(rest, key=lambda column: last[column])
            rest.remove(nearest)
            columns.append(nearest)
        return columns

    def cost(self, columns: list[int]) -> float:
        """The floor that an order of columns takes, and a little for inverters and long strands."""
        made = self._laid(columns)
        excess = 0
        if self.form.most_outputs is not None:
            excess = max(0, len(made.outputs) - self.form.most_outputs)
        width = self.form.width(len(made.inputs), len(made.outputs), made.full, self.stacked)
        floor = width * (made.end + 1)
        reach = sum(span.high - span.low for span in made.spans)
        turns = sum(span.turns for span in made.spans)
        return floor * (1 + excess) + 0.02 * reach + 0.1 * turns

    def folding(self, columns: list[int]) -> Folding:
        """The lanes of an order of columns.

        Raises:
            Unbuildable: if there are too many of them.
        """
        made = self._laid(columns)
        most = self.form.most_outputs
        if most is not None and len(made.outputs) > most:
            raise Unbuildable("too many outputs for this form")
        places = dict(zip(columns, made.places, strict=True))
        return Folding(
            tuple(columns), places, made.end, tuple(made.inputs), tuple(made.outputs), made.full
        )

    def _laid(self, columns: list[int]) -> _Laid:
        inputs, outputs = self.strands.inputs, self.strands.outputs
        spans = {strand.name: _Span() for strand in (*inputs, *outputs)}
        places, x, before = [], 0, -1
        for place, column in enumerate(columns):
            x += self.gaps[before][column] if place else 0
            places.append(x)
            before = column
            for name, positive in self.touched[column]:
                spans[name].touch(place, positive)
        shared = [self._shared(strands, spans) for strands in (inputs, outputs)]
        self._keep_what_narrows(shared)
        least, most = 0, places[-1] + self.form.shift
        lanes: list[list[Lane]] = []
        for strands, pairs in zip((inputs, outputs), shared, strict=True):
            partners = {strand.name for pair in pairs for strand in pair}
            own: list[Lane] = [((left, Side.LEFT), (right, Side.RIGHT)) for left, right in pairs]
            for strand in strands:
                if strand.name not in partners:
                    side = self._side(strand, spans[strand.name], places)
                    own.append(((strand, side),))
            for strand, side in (item for lane in own for item in lane):
                need = self._need(strand, side, spans[strand.name], places)
                if side is Side.LEFT:
                    least = max(least, need)
                else:
                    most = max(most, places[-1] + self.form.shift + need)
            lanes.append(own)
        places = [least + x for x in places]
        full = self.most_read == len(lanes[0])
        end = max(least + most, 1, self.least_end)
        return _Laid(places, end, lanes[0], lanes[1], full, list(spans.values()))

    def _shared(
        self, strands: Sequence[Strand], spans: Mapping[str, _Span]
    ) -> list[tuple[Strand, Strand]]:
        """Pairs of strands that can share a lane, as many as are found."""
        lefts, rights = [], []
        for strand in strands:
            if not strand.alone:
                span = spans[strand.name]
                if Side.LEFT in strand.sides:
                    lefts.append((span.high, strand))
                if Side.RIGHT in strand.sides:
                    rights.append((span.low, strand))
        lefts.sort(key=lambda item: item[0])
        rights.sort(key=lambda item: -item[0])
        for count in range(min(len(lefts), len(rights), len(strands) // 2), 0, -1):
            chosen = lefts[:count]
            names = {strand.name for _, strand in chosen}
            others = [item for item in rights if item[1].name not in names][:count]
            others.reverse()
            ends = zip(chosen, others, strict=False)
            if len(others) == count and all(high < low for (high, _), (low, _) in ends):
                return [(left, right) for (_, left), (_, right) in zip(chosen, others, strict=True)]
        return []

    def _keep_what_narrows(self, shared: list[list[tuple[Strand, Strand]]]) -> None:
        """Take pairs apart that leave the sheet as wide as it is."""
        if self.form.most_outputs is None:
            counts = len(self.strands.inputs), len(self.strands.outputs)
            lanes = max(count - len(pairs) for count, pairs in zip(counts, shared, strict=True))
            for count, pairs in zip(counts, shared, strict=True):
                del pairs[max(0, count - lanes) :]

    def _side(self, strand: Strand, span: _Span, places: Sequence[int]) -> Side:
        """The side on which a strand needs less room beside the columns."""
        return min(strand.sides, key=lambda side: self._need(strand, side, span, places))

    def _need(self, strand: Strand, side: Side, span: _Span, places: Sequence[int]) -> int:
        """Cells that a strand needs beyond the outermost column on its side."""
        if strand.alone:
            return 0
        left = side is Side.LEFT
        if strand.name in self.outputs:
            turn = TURN if strand.inverted else 0
            shift = self.form.shift
            inside = places[span.low] + shift if left else places[-1] - places[span.high]
        else:
            turn = 0 if (span.first if left else span.last) else TURN
            shift = self.form.shift
            inside = places[span.low] if left else places[-1] + shift - places[span.high]
        return max(0, turn - inside)


@dataclass
class _Span:
    """The columns that a strand touches, in order.

    Attributes:
        low, high: the first and the last place among the columns.
        first, last: whether they read the input as it is.
        turns: how often that changes.
    """

    low: int = -1
    high: int = -1
    first: bool = True
    last: bool = True
    turns: int = 0

    def touch(self, place: int, positive: bool) -> None:
        """Add a column further right."""
        if self.low < 0:
            self.low, self.first = place, positive
        elif positive is not self.last:
            self.turns += 1
        self.high, self.last = place, positive


@dataclass(frozen=True)
class _Laid:
    """An order of columns with all that follows; ``places`` by place in the order."""

    places: list[int]
    end: int
    inputs: list[Lane]
    outputs: list[Lane]
    full: bool
    spans: list[_Span]
