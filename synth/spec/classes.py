"""All functions of a number of inputs, and their classes.

A *P-class* holds the functions that turn into each other by permuting inputs. A table is a column:
``0`` or ``1`` for every assignment in counting order, the first input the most significant bit. The
representative of a class is its smallest table, read as a binary number.

With several outputs each has a column, and a class holds the functions that turn into each other by
permuting inputs and by permuting outputs.
"""

from __future__ import annotations

from collections.abc import Iterator
from functools import cache
from itertools import permutations, product

from synth.spec import BooleanFunction

MAX_INPUTS = 4
"""Most inputs whose functions are enumerated; five inputs have 4,294,967,296 functions."""

NAMES = "abcdefgh"
"""Names of the inputs of enumerated functions, in order; their output is ``q``."""


Columns = tuple[str, ...]
"""The columns of a function, one an output; ``-`` is a don't care."""


def all_tables(inputs: int) -> Iterator[str]:
    """Every function of that many inputs, 2**(2**inputs) of them, in counting order."""
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
    if not 0 <= inputs <= MAX_INPUTS:
        raise ValueError(f"classes of {inputs} inputs; there are those of 0 to {MAX_INPUTS}")
    rows = 1 << inputs
    seen = bytearray(1 << rows)
    found = []
    # For each permutation the bit that each row of a table becomes; summed thousands of times.
    bits = [[1 << (rows - 1 - row) for row in reading] for reading in _permuted_rows(inputs)]
    number = 0
    while number >= 0:
        found.append(format(number, f"0{rows}b"))
        ones = [row for row in range(rows) if number >> (rows - 1 - row) & 1]
        for moved in bits:
            seen[sum([moved[row] for row in ones])] = 1
        number = seen.find(0, number)
    return found


@cache
def _permuted_rows(inputs: int) -> list[list[int]]:
    """For each permutation of the inputs: which row each row reads."""
    found = []
    for order in permutations(range(inputs)):
        rows = []
        for bits in product((0, 1), repeat=inputs):
            rows.append(sum(bits[old] << (inputs - 1 - new) for new, old in enumerate(order)))
        found.append(rows)
    return found


def function_of(table: str) -> BooleanFunction:
    """A table as a function of inputs ``a, b, ...`` with the output ``q``."""
    inputs = len(table).bit_length() - 1
    return BooleanFunction(tuple(NAMES[:inputs]), {"q": table})


def members(columns: Columns) -> list[Columns]:
    """The class of a function of any number of outputs, its smallest member first."""
    inputs = len(columns[0]).bit_length() - 1
    found: set[Columns] = set()
    for rows in _permuted_rows(inputs):
        moved = ["".join(column[row] for row in rows) for column in columns]
        found.update(permutations(moved))
    return sorted(found)


def parts_in(columns: Columns, other: Columns) -> tuple[tuple[int, ...], tuple[int, ...]]:
    """Which inputs and outputs of a function correspond to which of another function of its class.

    Returns:
        For each input of ``columns`` the number of the input of ``other`` whose part it plays;
        then the same for outputs.

    Raises:
        ValueError: if the two are of two classes.
    """
    inputs = len(other[0]).bit_length() - 1
    orders = permutations(range(inputs))
    for order, rows in zip(orders, _permuted_rows(inputs), strict=True):
        moved = ["".join(column[row] for row in rows) for column in columns]
        for outputs in permutations(range(len(columns))):
            if all(other[new] == column for new, column in zip(outputs, moved, strict=True)):
                return order, outputs
    raise ValueError(f"{columns} and {other} are of two classes")


def every_input_matters(columns: Columns) -> bool:
    """Whether each input changes some output; a don't care changes nothing."""
    rows = len(columns[0])
    bits = (1 << index for index in range(rows.bit_length() - 1))
    return all(
        any(
            {column[row], column[row ^ bit]} == {"0", "1"}
            for column in columns
            for row in range(rows)
        )
        for bit in bits
    )


MOST_VALUES = 16
"""Most values (rows times outputs) of functions whose classes are listed: 65,536 functions."""


def classes_of(inputs: int, outputs: int) -> list[Columns]:
    """The representatives of all classes of so many inputs and outputs, in counting order.

    Raises:
        ValueError: if there are too many (``MOST_VALUES``).
    """
    if (outputs << inputs) > MOST_VALUES:
        raise ValueError(f"classes of {inputs} inputs and {outputs} outputs are too many")
    if outputs == 1:
        return [(table,) for table in p_classes(inputs)]
    found, seen = [], set()
    for columns in product(all_tables(inputs), repeat=outputs):
        if columns not in seen:
            found.append(columns)
            seen.update(members(columns))
    return found
