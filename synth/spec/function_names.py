"""What functions are called: one list for targets, explanations, checks, the store, the catalogue.

Names are the terms of IEEE Std 91 and of logic design (from memory), with the number of inputs
behind them where there are functions of that name with more; a name that is a target's is the
target's. A function keeps its name in whatever order its inputs come.
"""

from __future__ import annotations

from collections.abc import Mapping
from itertools import permutations, product

FUNCTION_NAMES: Mapping[int, Mapping[str, str]] = {
    1: {"10": "inverter", "01": "buffer"},
    2: {
        "0001": "and2",
        "0111": "or2",
        "0110": "xor2",
        "1001": "xnor2",
        "1110": "nand2",
        "1000": "nor2",
        "0010": "does-not-imply2",
        "1101": "implies2",
    },
    3: {
        "00000001": "and3",
        "01111111": "or3",
        "11111110": "nand3",
        "10000000": "nor3",
        "01101001": "parity3",
        "10010110": "even-parity3",
        "00010111": "maj3",
        "11101000": "minority3",
        "00011011": "mux2",
        "10000001": "equal3",
        "01111110": "not-equal3",
        "00010110": "exactly-two3",
        "01101000": "exactly-one3",
    },
}
"""By number of inputs: names by truth table.

A table has 0 or 1 for every assignment in counting order, the first input the most significant bit.
"""


def _reordered(table: str, order: tuple[int, ...]) -> str:
    """The table of the function whose input ``index`` is input ``order[index]`` of this one."""
    count = len(order)
    rows = []
    for bits in product((0, 1), repeat=count):
        row = sum(bits[index] << (count - 1 - order[index]) for index in range(count))
        rows.append(table[row])
    return "".join(rows)


_BY_TABLE = {
    _reordered(table, order): name
    for count, named in FUNCTION_NAMES.items()
    for table, name in named.items()
    for order in permutations(range(count))
}


def function_name(table: str) -> str:
    """The name of a function up to the order of its inputs; "" if it has none.

    Args:
        table: 0 or 1 for every assignment in counting order.
    """
    return _BY_TABLE.get(table, "")


def name_of_column(column: str) -> str:
    """The name of what a column computes of those inputs that it depends on; "" if it has none.

    Args:
        column: ``0``, ``1`` or ``x`` (unknown) for every assignment in counting order.
    """
    index = 0
    count = max(0, len(column).bit_length() - 1)
    while index < count:
        block = 1 << (count - 1 - index)
        parts = [column[start : start + block] for start in range(0, len(column), block)]
        low, high = "".join(parts[0::2]), "".join(parts[1::2])
        if low == high:
            column, count = low, count - 1
        else:
            index += 1
    return function_name(column)
