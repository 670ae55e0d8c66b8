"""Sums of products of up to three inputs, and the signals that make one product in three ticks."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from functools import reduce
from itertools import combinations, product
from operator import or_

from synth.encoding.placing.signals import Origin, Signal

Literals = tuple[tuple[int, bool], ...]
"""A product: its inputs by number, and whether each must be on."""


def rows_of(literals: Literals, inputs: int) -> int:
    """The rows in which a product is on, as a mask: bit ``r`` for row ``r`` in counting order."""
    return sum(
        1 << row
        for row in range(1 << inputs)
        if all(bool(row >> (inputs - 1 - number) & 1) == on for number, on in literals)
    )


def covers(column: str) -> list[tuple[Literals, ...]]:
    """All sums of prime products that make a column, of those with the fewest products.

    Args:
        column: ``0``, ``1`` and ``-`` in counting order, of at most three inputs.
    """
    inputs = (len(column) - 1).bit_length()
    ones = sum(1 << row for row, value in enumerate(column) if value == "1")
    zeros = sum(1 << row for row, value in enumerate(column) if value == "0")
    every: dict[Literals, int] = {}
    for values in product((None, True, False), repeat=inputs):
        literals = tuple((n, value) for n, value in enumerate(values) if value is not None)
        rows = rows_of(literals, inputs)
        if rows & ones and not rows & zeros:
            every[literals] = rows
    prime = [
        literals
        for literals, rows in every.items()
        if not any(rows & other == rows and rows != other for other in every.values())
    ]
    for count in range(1, len(prime) + 1):
        found = [
            chosen
            for chosen in combinations(prime, count)
            if not ones & ~reduce(or_, (every[one] for one in chosen))
        ]
        if found:
            return found
    return []


def product_signals(
    wanted: Mapping[str, bool], rows: Mapping[str, int], every: int, begin: int, end: int
) -> Iterator[Signal]:
    """The signals between inputs and the inverter of their product: the product itself comes last.

    That inverter hears the complement of each literal. Whatever is known a tick before it may be
    made on the way there: by an inverter, by a buffer, or by two of them.

    Args:
        wanted: for each input of the product, by name, whether it must be on.
        rows: the rows of each input.
        every: all rows.
        begin: the tick by which the inputs are known.
        end: the tick by which the product is.
    """
    on = every
    for name, positive in wanted.items():
        own, other = rows[name], every & ~rows[name]
        on &= own if positive else other
        yield Signal(complement(name), other, begin + 1, Origin.INVERTER)
        yield Signal(name + "'", own, begin + 1, Origin.BUFFER)
        if begin + 2 < end:
            heard = other if positive else own
            known = complement(name) if positive else name + "'"
            yield Signal(known + "'", heard, begin + 2, Origin.BUFFER)
            yield Signal(twice(name), heard, begin + 2, Origin.INVERTER)
    yield Signal(PRODUCT, on, end, Origin.INVERTER)


PRODUCT = "p"
"""The name of a product's signal."""


def complement(name: str) -> str:
    """The name of an input's complement."""
    return f"n{name}"


def twice(name: str) -> str:
    """The name of what an inverter makes in two ticks: the input or its complement."""
    return f"m{name}"
