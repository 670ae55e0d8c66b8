"""All functions of so many inputs, and their classes.

A *P-class* holds the functions that turn into each other by permuting inputs; an *NPN-class* also
by negating inputs and the output. A table is a column: ``0`` or ``1`` for every assignment in
counting order, the first input the most significant bit. The representative of a class is its
smallest table, read as a binary number.
"""

from __future__ import annotations

from collections.abc import Iterator
from itertools import permutations, product

from synth.spec import BooleanFunction

MAX_INPUTS = 4
"""Most inputs whose functions are enumerated: of five there are 4,294,967,296."""

NAMES = "abcdefgh"
"""Names of the inputs of enumerated functions, in order; their output is ``q``."""


def all_tables(inputs: int) -> Iterator[str]:
    """Every function of so many inputs, 2**(2**inputs) of them, in counting order."""
    rows = 1 << inputs
    for number in range(1 << rows):
        yield format(number, f"0{rows}b")


def depends_on_all(table: str) -> bool:
    """Whether a function depends on each of its inputs."""
    rows = len(table)
    bit = 1
    while bit < rows:
        if all(table[row] == table[row ^ bit] for row in range(rows)):
            return False
        bit <<= 1
    return True


def p_classes(inputs: int) -> list[str]:
    """The representatives of the P-classes, in counting order.

    Their number for 1 to 4 inputs: 4, 12, 80, 3984 (OEIS A003180).
    """
    _require_few(inputs)
    return _classes(inputs, _permuted_rows(inputs), negated=False)


def npn_classes(inputs: int) -> list[str]:
    """The representatives of the NPN-classes, in counting order.

    Their number for 1 to 4 inputs: 2, 4, 14, 222 (OEIS A000370).
    """
    _require_few(inputs)
    maps = [
        [row ^ mask for row in rows]
        for rows in _permuted_rows(inputs)
        for mask in range(1 << inputs)
    ]
    return _classes(inputs, maps, negated=True)


def _require_few(inputs: int) -> None:
    if not 0 <= inputs <= MAX_INPUTS:
        raise ValueError(f"classes of {inputs} inputs; there are those of 0 to {MAX_INPUTS}")


def _permuted_rows(inputs: int) -> list[list[int]]:
    """For each permutation of the inputs: which row each row reads."""
    found = []
    for order in permutations(range(inputs)):
        rows = []
        for bits in product((0, 1), repeat=inputs):
            rows.append(sum(bits[old] << (inputs - 1 - new) for new, old in enumerate(order)))
        found.append(rows)
    return found


def _classes(inputs: int, maps: list[list[int]], *, negated: bool) -> list[str]:
    rows = 1 << inputs
    every = (1 << rows) - 1
    seen = bytearray(1 << rows)
    found = []
    for number in range(1 << rows):
        if seen[number]:
            continue
        found.append(format(number, f"0{rows}b"))
        ones = [row for row in range(rows) if number >> (rows - 1 - row) & 1]
        for reading in maps:
            image = 0
            for row in ones:
                image |= 1 << (rows - 1 - reading[row])
            seen[image] = 1
            if negated:
                seen[every ^ image] = 1
    return found


def representative(table: str) -> str:
    """The smallest table of the P-class of a table."""
    inputs = len(table).bit_length() - 1
    images = ("".join(table[row] for row in rows) for rows in _permuted_rows(inputs))
    return min(images)


def function_of(table: str) -> BooleanFunction:
    """A table as a function of inputs ``a, b, ...`` with the output ``q``."""
    inputs = len(table).bit_length() - 1
    return BooleanFunction(tuple(NAMES[:inputs]), {"q": table})
