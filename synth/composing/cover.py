"""Two-level minimisation of several outputs at once: products of literals, shared where it pays.

A *product* is a set of literals, written as two masks over the inputs: ``care``, the inputs that it
reads, and ``value``, what they must be. Rows of a truth table are bits of masks here: bit ``r``
stands for the assignment in row ``r`` of counting order.

Prime implicants come from the tabular method (W. V. Quine, 1955; E. J. McCluskey, 1956), applied to
whole masks of rows at once. A cover is then chosen greedily and thinned out. For several outputs, a
complete method would need the primes of every set of outputs; here only those of single outputs and
of outputs that share a product are used, by widening shared products as far as all outputs allow.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache
from itertools import combinations

from synth.spec import BooleanFunction

MOST_SHARED_OUTPUTS = 6
"""Up to this many outputs, products of every pair are sought; beyond, only those of all."""


@dataclass(frozen=True, slots=True, order=True)
class Product:
    """An AND of literals. Bit ``i`` of the masks stands for input ``i``, the first input bit 0.

    Attributes:
        care: the inputs that it reads; without any, the product is always on.
        value: those of them that must be on.
    """

    care: int
    value: int

    @property
    def size(self) -> int:
        """The number of its literals."""
        return self.care.bit_count()

    def literals(self) -> Iterator[tuple[int, bool]]:
        """Its literals in the order of inputs: each an input, and whether it must be on."""
        for index in range(self.care.bit_length()):
            if self.care >> index & 1:
                yield index, bool(self.value >> index & 1)

    def rows(self, inputs: int) -> int:
        """The rows in which it is on, as a mask, for a given number of inputs."""
        on = (1 << (1 << inputs)) - 1
        for index, positive in self.literals():
            mask = input_rows(inputs, index)
            on &= mask if positive else ~mask
        return on


@lru_cache(maxsize=64)
def input_rows(inputs: int, index: int) -> int:
    """The rows in which an input is on; the first input is the most significant bit of a row."""
    bit = inputs - 1 - index
    return sum(1 << row for row in range(1 << inputs) if row >> bit & 1)


@dataclass(frozen=True, slots=True)
class Goal:
    """What one output asks, as masks of rows."""

    ones: int
    free: int

    @property
    def allowed(self) -> int:
        """The rows in which a product of it may be on."""
        return self.ones | self.free

    @staticmethod
    def of(column: str) -> Goal:
        """The goal of a column of ``0``, ``1`` and ``-``."""
        ones = sum(1 << row for row, value in enumerate(column) if value == "1")
        free = sum(1 << row for row, value in enumerate(column) if value == "-")
        return Goal(ones, free)


Cover = Mapping[str, tuple[Product, ...]]
"""For every output the products whose OR it is."""


def primes(inputs: int, allowed: int) -> set[Product]:
    """Every product that is on only in ``allowed`` rows, and would not be with one literal less.

    Level by level: ``on[care]`` says, for each set of inputs read, for which values the product
    stays within ``allowed``. Dropping an input keeps the values for which both halves do.
    """
    every = (1 << inputs) - 1
    # For the products over one set of inputs: the rows whose product lies within `allowed`. A
    # product appears in each of its rows, so that dropping an input is one shift and one AND.
    level = {every: allowed}
    found: set[Product] = set()
    while level:
        below: dict[int, int] = {}
        grown: dict[int, int] = dict.fromkeys(level, 0)
        for care, rows in level.items():
            for index in range(inputs):
                if care >> index & 1:
                    shift = 1 << (inputs - 1 - index)
                    high = input_rows(inputs, index)
                    both = rows & high & (rows << shift)
                    both |= both >> shift
                    if both:
                        below[care & ~(1 << index)] = both
                        grown[care] |= both
        for care, rows in level.items():
            found.update(_products_of(inputs, care, rows & ~grown[care]))
        level = below
    return found


def _products_of(inputs: int, care: int, rows: int) -> Iterator[Product]:
    """The different products over these inputs that appear in these rows."""
    while rows:
        row = (rows & -rows).bit_length() - 1
        value = sum(1 << i for i in range(inputs) if row >> (inputs - 1 - i) & 1) & care
        product = Product(care, value)
        yield product
        rows &= ~product.rows(inputs)


def covers(function: BooleanFunction) -> Cover:
    """Products for every output, as few as could be found, then with few literals.

    Every product of an output is on only where the output may be, and together they are on
    wherever it must be. Products are shared between outputs: each counts once.
    """
    goals = {name: Goal.of(column) for name, column in function.outputs.items()}
    return cover_goals(len(function.inputs), goals)


def cover_goals(inputs: int, goals: Mapping[str, Goal]) -> Cover:
    """The same for goals as masks."""
    names = [name for name, goal in goals.items() if goal.ones]
    candidates: set[Product] = set()
    for group in _groups(names):
        allowed = (1 << (1 << inputs)) - 1
        for name in group:
            allowed &= goals[name].allowed
        candidates |= primes(inputs, allowed)
    chosen = _choose(inputs, goals, names, candidates)
    return {name: tuple(sorted(chosen.get(name, ()), key=_order)) for name in goals}


def _groups(names: Sequence[str]) -> Iterable[tuple[str, ...]]:
    """Sets of outputs that may share products."""
    yield from ((name,) for name in names)
    if len(names) <= MOST_SHARED_OUTPUTS:
        for size in range(2, len(names) + 1):
            yield from combinations(names, size)
    else:
        yield from combinations(names, 2)


def _choose(
    inputs: int, goals: Mapping[str, Goal], names: Sequence[str], candidates: Iterable[Product]
) -> dict[str, list[Product]]:
    """A cover chosen greedily, the most useful product first, then thinned out."""
    rows = {product: product.rows(inputs) for product in sorted(candidates, key=_order)}
    serves = {
        product: [name for name in names if not on & ~goals[name].allowed]
        for product, on in rows.items()
    }
    missing = {name: goals[name].ones for name in names}
    picked: list[Product] = []
    # Rows that only one product covers choose that product.
    for name in names:
        for product in _essential(goals[name].ones, rows, serves, name):
            if product not in picked:
                picked.append(product)
    for product in picked:
        for name in serves[product]:
            missing[name] &= ~rows[product]
    open_products = dict.fromkeys(product for product in rows if product not in picked)
    while any(missing.values()):
        best, gain = None, (0, 0)
        for product in list(open_products):
            on = rows[product]
            worth = sum((missing[name] & on).bit_count() for name in serves[product])
            if not worth:
                del open_products[product]
            elif (worth, -product.size) > gain or best is None:
                best, gain = product, (worth, -product.size)
        assert best is not None, "every row that must be on lies in a prime of its output"
        picked.append(best)
        del open_products[best]
        for name in serves[best]:
            missing[name] &= ~rows[best]
    picked = _thinned(goals, rows, serves, picked)
    return _assigned(goals, names, rows, serves, picked)


def _essential(
    ones: int, rows: Mapping[Product, int], serves: Mapping[Product, list[str]], name: str
) -> Iterator[Product]:
    """Products that alone cover some row of an output."""
    once, twice = 0, 0
    for product, on in rows.items():
        if name in serves[product]:
            twice |= once & on
            once |= on
    alone = ones & once & ~twice
    for product, on in rows.items():
        if name in serves[product] and on & alone:
            yield product


def _thinned(
    goals: Mapping[str, Goal],
    rows: Mapping[Product, int],
    serves: Mapping[Product, list[str]],
    picked: Sequence[Product],
) -> list[Product]:
    """The products without those that others make unnecessary; the largest are tried first."""
    kept = list(picked)
    for product in sorted(picked, key=lambda item: (-item.size, _order(item))):
        others = [other for other in kept if other != product]
        if all(
            not goals[name].ones & ~_union(rows[other] for other in others if name in serves[other])
            for name in serves[product]
        ):
            kept = others
    return kept


def _assigned(
    goals: Mapping[str, Goal],
    names: Sequence[str],
    rows: Mapping[Product, int],
    serves: Mapping[Product, list[str]],
    picked: Sequence[Product],
) -> dict[str, list[Product]]:
    """For every output, the products that it needs."""
    result = {}
    for name in names:
        own = [product for product in picked if name in serves[product]]
        for product in sorted(own, key=lambda item: (-item.size, _order(item))):
            rest = [other for other in own if other != product]
            if not goals[name].ones & ~_union(rows[other] for other in rest):
                own = rest
        result[name] = own
    return result


def _union(masks: Iterable[int]) -> int:
    result = 0
    for mask in masks:
        result |= mask
    return result


def _order(product: Product) -> tuple[int, int, int]:
    return (product.size, product.care, product.value)
