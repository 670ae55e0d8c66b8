"""Lanes that signals share: an order of columns, and which signals lie end to end in one lane.

Two strands (``strands.py``) share a lane if all columns of one lie left of those of the other,
which then comes from the right (folding of programmable arrays; from memory). An input has one lane
for itself and its complement (``crossings.py``). What that costs follows from the order of columns.
``folded`` looks for a good one by annealing (S. Kirkpatrick, C. D. Gelatt and M. P. Vecchi, 1983;
from memory).
"""

from __future__ import annotations

import contextlib
import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from random import Random

from synth.composing.canvas import LONGEST, Unbuildable
from synth.composing.crossings import TURN, Crossing, crossings
from synth.composing.order import Order, Side
from synth.composing.strands import Strand, Strands, strands_of

PITCH = 2
"""Cells along x from column to column."""

MOST_STEPS, FEW_STEPS = 2500, 250
"""Most steps of annealing, and of a short one."""

MANY_COLUMNS = 20
"""From this many columns on there are fewer steps, because each takes longer."""

A_TICK, A_STEP = 1.0, 0.02
"""What a tick, and a column that a strand passes, costs beside a cell of floor."""

HOTTEST, COLDEST = 0.08, 0.2
"""Heat of annealing: at first, as a part of the cost, and in the end, in cells of floor."""

STEPS_A_PAIR = 40
"""Steps of annealing for every two columns: few columns are soon in order."""


@dataclass(frozen=True)
class Form:
    """A shape of sheet: what lanes come to.

    Attributes:
        shift: the step along x from a column to the cell in which it feeds an output.
        turn: the cells between the pin of an output that ends in an inverter and the nearest cell
            in which a column feeds it, the pin's cell included.
        most_outputs: the most lanes of outputs, or None.
    """

    shift: int
    turn: int
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
        crossings: how each input is read, in the order of its signal.
        full: whether some column reads every lane of inputs through an inverter.
    """

    products: tuple[int, ...]
    places: Mapping[int, int]
    end: int
    inputs: tuple[Lane, ...]
    outputs: tuple[Lane, ...]
    crossings: Mapping[str, tuple[Crossing, ...]]
    full: bool


def folded(order: Order, form: Form) -> tuple[Strands, Folding]:
    """The strands of an order and a good way to lay them; the same in every run.

    Raises:
        Unbuildable: if this form has no room for them, or it would be longer than a box may be.
    """
    folder = _folder(order, form)
    return folder.strands, folder.folding(_annealed(folder, MOST_STEPS)[0])


def rated(order: Order, form: Form) -> float:
    """About the floor that ``folded`` comes to, after a short search.

    Raises:
        Unbuildable: as it does.
    """
    return _annealed(_folder(order, form), FEW_STEPS)[1]


def _folder(order: Order, form: Form) -> _Folder:
    strands = strands_of(order)
    if PITCH * len(strands.products) > LONGEST:
        raise Unbuildable("longer than a layout may be")
    folder = _Folder(strands, form, order.stack == "y", order.end)
    if form.most_outputs is not None and folder.fewest_outputs > form.most_outputs:
        raise Unbuildable("too many outputs for this form")
    return folder


def _annealed(folder: _Folder, most: int) -> tuple[list[int], float]:
    """An order of columns of low cost, and that cost, after so many steps at most."""
    count = len(folder.strands.products)
    rng = Random(0)
    now = list(range(count))
    cost = folder.cost(now)
    best, least = now, cost
    steps = min(most, most * MANY_COLUMNS // count, STEPS_A_PAIR * count * (count - 1) // 2)
    hot, cold = HOTTEST * cost, COLDEST
    for step in range(steps):
        heat = hot * (cold / hot) ** (step / steps)
        other = _changed(now, rng)
        value = folder.cost(other)
        if value <= cost or rng.random() < math.exp((cost - value) / heat):
            now, cost = other, value
            if value < least:
                best, least = other, value
    return best, least


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
    """What an order of columns comes to. Strands are numbers here: inputs first, then outputs."""

    def __init__(self, strands: Strands, form: Form, stacked: bool, end: int) -> None:
        self.strands = strands
        self.all = (*strands.inputs, *strands.outputs)
        self.form = form
        self.stacked = stacked
        self.least_end = end
        # The most literals of a product of which none is read directly.
        self.most_read = max(
            len(product) - any(not term.positive for term in product)
            for product in strands.products
        )
        inputs = len(strands.inputs)
        self.kinds = (range(inputs), range(inputs, len(self.all)))
        # Worked out once: laying an order of columns asks for all of it.
        self.alone = [strand.alone for strand in self.all]
        self.sides = [strand.sides[0] for strand in self.all]
        self.two_sided = [len(strand.sides) > 1 for strand in self.all]
        self.lefts = [not item.alone and Side.LEFT in item.sides for item in self.all]
        self.rights = [not item.alone and Side.RIGHT in item.sides for item in self.all]
        count = len(strands.products)
        # Few columns have few orders, and annealing comes to each of them many times.
        self._costs: dict[tuple[int, ...], float] = {}
        self.touched: list[list[tuple[int, bool]]] = [[] for _ in range(count)]
        for number, strand in enumerate(self.all):
            for one, positive in strand.columns.items():
                self.touched[one].append((number, positive))

    @property
    def fewest_outputs(self) -> int:
        """A number of lanes that outputs take at least."""
        outputs = self.kinds[1]
        lefts, rights = (sum(can[n] for n in outputs) for can in (self.lefts, self.rights))
        return len(outputs) - min(lefts, rights, len(outputs) // 2)

    def cost(self, columns: list[int]) -> float:
        """The floor that an order of columns takes, and a little for ticks and long strands."""
        key = tuple(columns)
        known = self._costs.get(key)
        if known is None:
            known = self._costs[key] = self._cost(columns)
        return known

    def _cost(self, columns: list[int]) -> float:
        made = _Laid(self, columns)
        excess = 0
        inputs, outputs = made.counts
        if self.form.most_outputs is not None:
            excess = max(0, outputs - self.form.most_outputs)
        full = self.most_read == inputs
        floor = self.form.width(inputs, outputs, full, self.stacked) * (made.end + 1)
        reach = sum(made.high) - sum(made.low)
        ticks = max(made.ticks) + sum(made.ticks) / len(made.ticks)
        return floor * (1 + excess) + A_TICK * ticks + A_STEP * reach

    def folding(self, columns: list[int]) -> Folding:
        """The lanes of an order of columns.

        Raises:
            Unbuildable: if there are too many of them.
        """
        made = _Laid(self, columns)
        inputs, outputs = (tuple(made.lanes(kind)) for kind in (0, 1))
        most = self.form.most_outputs
        if most is not None and len(outputs) > most:
            raise Unbuildable("too many outputs for this form")
        places = dict(zip(columns, made.places, strict=True))
        read, full = self._crossed(inputs, places, made.end)
        return Folding(tuple(columns), places, made.end, inputs, outputs, read, full)

    def _crossed(
        self, lanes: Sequence[Lane], places: Mapping[int, int], end: int
    ) -> tuple[dict[str, tuple[Crossing, ...]], bool]:
        """How inputs are read, and whether a column reads all lanes through inverters.

        Where it can be, a column that reads all lanes reads one of them directly.
        """
        read: dict[str, tuple[Crossing, ...]] = {}
        rows: dict[str, tuple[int, list[tuple[int, bool]]]] = {}
        for strand, side in (item for lane in lanes for item in lane):
            reads = sorted((places[number], yes) for number, yes in strand.columns.items())
            edge = 0
            if side is Side.RIGHT:
                reads.reverse()
                edge = end
            rows[strand.name] = edge, reads
            read[strand.name] = crossings(reads, edge)
        full = False
        forced: dict[str, set[int]] = {name: set() for name in rows}
        for number, product in enumerate(self.strands.products):
            x = places[number]
            names = [term.name for term in product]
            if len(names) < len(lanes):
                continue
            through = [name for name in names if Crossing(x, False, True) in read[name]]
            if through:
                forced[through[0]].add(x)  # It stays so when its lane is read otherwise.
                continue
            for name in names:
                edge, reads = rows[name]
                with contextlib.suppress(Unbuildable):
                    read[name] = crossings(reads, edge, {*forced[name], x})
                    forced[name].add(x)
                    break
            else:
                full = True
        return read, full


class _Laid:
    """An order of columns with all that follows.

    Attributes:
        places: the x of columns, in their order.
        low, high: for each strand the first and the last column that it touches.
        first, last: whether these read the input as it is.
        ticks: about how many turns and direct readings the lane of each strand has.
        pairs: of inputs and of outputs those that share lanes: the left one, the right one.
        counts: how many lanes of inputs and of outputs there are.
        end: the last cell along x.
    """

    def __init__(self, folder: _Folder, columns: list[int]) -> None:
        self.folder = folder
        strands = len(folder.all)
        self.low, self.high = [-1] * strands, [-1] * strands
        self.first, self.last = [True] * strands, [True] * strands
        self.ticks = [0] * strands
        self.places = list(range(0, PITCH * len(columns), PITCH))
        self._touch(columns)
        self.pairs = [self._shared(kind) for kind in folder.kinds]
        self._part_what_narrows_nothing()
        kinds = zip(folder.kinds, self.pairs, strict=True)
        self.counts = [len(kind) - len(pairs) for kind, pairs in kinds]
        sides = list(folder.sides)
        for left, right in (*self.pairs[0], *self.pairs[1]):
            sides[left], sides[right] = Side.LEFT, Side.RIGHT
        paired = {number for pairs in self.pairs for pair in pairs for number in pair}
        before, beyond = 0, 0
        for number, has_two_sides in enumerate(folder.two_sided):
            need = self._need(number, sides[number])
            if need and has_two_sides and number not in paired:
                its = self._need(number, sides[number].other)
                if its < need:
                    need, sides[number] = its, sides[number].other
            if sides[number] is Side.LEFT:
                before = max(before, need)
            else:
                beyond = max(beyond, need)
        self.sides = sides
        self.places = [before + x for x in self.places]
        self.end = max(self.places[-1] + folder.form.shift + beyond, 1, folder.least_end)

    def _touch(self, columns: list[int]) -> None:
        low, high, first, last = self.low, self.high, self.first, self.last
        ticks, touched = self.ticks, self.folder.touched
        state = [True] * len(low)
        for place, column in enumerate(columns):
            for number, positive in touched[column]:
                if low[number] < 0:
                    low[number], first[number] = place, positive
                if positive is not state[number]:
                    ticks[number] += 1
                    if place - high[number] > 1:
                        state[number] = positive  # The lane turns: there is room.
                high[number], last[number] = place, positive

    def _shared(self, kind: range) -> list[tuple[int, int]]:
        """Pairs of strands that can share a lane, as many as are found."""
        low, high = self.low, self.high
        can_left, can_right = self.folder.lefts, self.folder.rights
        lefts = sorted([(high[number], number) for number in kind if can_left[number]])
        rights = sorted([(-low[number], number) for number in kind if can_right[number]])
        for count in range(min(len(lefts), len(rights), len(kind) // 2), 0, -1):
            chosen = lefts[:count]
            names = {number for _, number in chosen}
            others = [item for item in rights if item[1] not in names][:count]
            others.reverse()
            if len(others) == count and all(
                high < -low for (high, _), (low, _) in zip(chosen, others, strict=True)
            ):
                return [(left, right) for (_, left), (_, right) in zip(chosen, others, strict=True)]
        return []

    def _part_what_narrows_nothing(self) -> None:
        """Take pairs apart that leave the sheet as wide as it is."""
        if self.folder.form.most_outputs is None:
            kinds = list(zip(self.folder.kinds, self.pairs, strict=True))
            lanes = max(len(kind) - len(pairs) for kind, pairs in kinds)
            for kind, pairs in kinds:
                del pairs[max(0, len(kind) - lanes) :]

    def _need(self, number: int, side: Side) -> int:
        """Cells that a strand needs beyond the outermost column on its side."""
        folder = self.folder
        if folder.alone[number]:
            return 0
        shift = folder.form.shift
        low, high = self.places[self.low[number]], self.places[self.high[number]]
        left = side is Side.LEFT
        if number in folder.kinds[1]:
            turn = folder.form.turn if folder.all[number].inverted else 0
            inside = low + shift if left else self.places[-1] - high
        else:
            turn = 0 if (self.first if left else self.last)[number] else TURN
            inside = low if left else self.places[-1] + shift - high
        return max(0, turn - inside)

    def lanes(self, kind: int) -> Iterator[Lane]:
        """The lanes of inputs (0) or outputs (1)."""
        pairs, strands = dict(self.pairs[kind]), self.folder.all
        for number in self.folder.kinds[kind]:
            if number in pairs:
                other = pairs[number]
                yield (strands[number], Side.LEFT), (strands[other], Side.RIGHT)
            elif number not in pairs.values():
                yield ((strands[number], self.sides[number]),)
