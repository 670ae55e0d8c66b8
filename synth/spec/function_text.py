"""Which function a truth table is, as a short expression in the operators of IEEE Std 1364.

``function_text`` is exact: the expression it gives computes the column it was given. It is
short, not provably shortest: smallest sums of products, and inputs split off by ``&``, ``|``,
``^`` or ``?:``, are tried, and the one with fewest operands wins.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

MAX_VITAL_INPUTS = 6
"""A column that depends on more inputs than this is not put into words."""

MAX_COVER_INPUTS = 4
"""Up to so many inputs, smallest sums of products are searched."""


@dataclass(frozen=True, slots=True)
class _Expression:
    """An expression and what it costs to read.

    ``binds`` is the precedence of its outermost operator in IEEE Std 1364-2005, table 5-4 (from
    memory), higher binds tighter: 5 name or ``~``, 4 ``&``, 3 ``^``, 2 ``|``, 1 ``?:``.
    """

    text: str
    binds: int
    operands: int

    @property
    def cost(self) -> tuple[int, int]:
        return (self.operands, sum(self.text.count(sign) for sign in "~&|^?"))

    def inside(self, binds: int) -> str:
        """The text as an operand of an operator that binds so tightly."""
        return self.text if self.binds >= binds else f"({self.text})"


_ZERO = _Expression("1'b0", 5, 0)
_ONE = _Expression("1'b1", 5, 0)


def function_text(outputs: Mapping[str, str], inputs: Sequence[str]) -> list[str]:
    """One line an output: ``q = a ^ b``.

    Args:
        outputs: for each output its value for every assignment in counting order, the first
            input the most significant bit: ``0``, ``1`` or ``x`` where it stays unknown.
        inputs: names, in order.
    """
    return [f"{name} {_describe(column, inputs)}" for name, column in outputs.items()]


def _describe(column: str, inputs: Sequence[str]) -> str:
    if "x" in column:
        rows = [row for row, value in enumerate(column) if value == "x"]
        if len(rows) == len(column):
            return "never settles"
        where = ", ".join(assignment_text(row, inputs) for row in rows[:4])
        more = f" and {len(rows) - 4} more" if len(rows) > 4 else ""
        return f"does not settle for {where}{more}"
    expression = expression_of(column, inputs)
    if expression is not None:
        return f"= {expression}"
    # A truth table of 128 rows or more would tell a reader nothing.
    names = _drop_idle(column, tuple(inputs))[1]
    return f"= a function of {len(names)} inputs, {column.count('1')} ones of {len(column)}"


def assignment_text(row: int, inputs: Sequence[str]) -> str:
    """``a=0 b=1``: the assignment of that number in counting order."""
    bits = format(row, f"0{len(inputs)}b") if inputs else ""
    return " ".join(f"{name}={bit}" for name, bit in zip(inputs, bits, strict=True))


def expression_of(column: str, inputs: Sequence[str]) -> str | None:
    """A short expression that computes ``column``; None if it depends on too many inputs.

    Args:
        column: ``0`` or ``1`` for every assignment in counting order.
        inputs: names, in order.
    """
    column, names = _drop_idle(column, tuple(inputs))
    if len(names) > MAX_VITAL_INPUTS:
        return None
    return _shortest(column, names, {}).text


def _drop_idle(column: str, names: tuple[str, ...]) -> tuple[str, tuple[str, ...]]:
    """The column over only those inputs that it depends on."""
    index = 0
    while index < len(names):
        low, high = _cofactors(column, index, len(names))
        if low == high:
            column, names = low, names[:index] + names[index + 1 :]
        else:
            index += 1
    return column, names


def _cofactors(column: str, index: int, count: int) -> tuple[str, str]:
    """The column with input ``index`` off, and with it on."""
    block = 1 << (count - 1 - index)
    parts = [column[start : start + block] for start in range(0, len(column), block)]
    return "".join(parts[0::2]), "".join(parts[1::2])


_Memo = dict[tuple[str, tuple[str, ...]], _Expression]


def _shortest(column: str, names: tuple[str, ...], memo: _Memo) -> _Expression:
    """The cheapest of the candidates for a column."""
    column, names = _drop_idle(column, names)
    key = (column, names)
    if key not in memo:
        memo[key] = min(_candidates(column, names, memo), key=lambda found: found.cost)
    return memo[key]


def _candidates(column: str, names: tuple[str, ...], memo: _Memo) -> Iterator[_Expression]:
    if not names:
        yield _ONE if column == "1" else _ZERO
        return
    if len(names) == 1:
        yield _literal(names[0], column == "01")
        return
    parity = _parity(column, names)
    if parity is not None:
        # Splitting would find nothing shorter: a parity reads every input once.
        yield parity
        return
    if len(names) <= MAX_COVER_INPUTS:
        yield _sum_of_products(column, names)
        yield _not(_sum_of_products(_complement(column), names))
    for index, name in enumerate(names):
        yield from _split(column, names, index, name, memo)


def _literal(name: str, positive: bool) -> _Expression:
    return _Expression(name if positive else f"~{name}", 5, 1)


def _not(of: _Expression) -> _Expression:
    return _Expression("~" + of.inside(6), 5, of.operands)


def _join(sign: str, binds: int, operands: Sequence[_Expression]) -> _Expression:
    text = f" {sign} ".join(operand.inside(binds) for operand in operands)
    return _Expression(text, binds, sum(operand.operands for operand in operands))


def _complement(column: str) -> str:
    return column.translate(str.maketrans("01", "10"))


def _parity(column: str, names: tuple[str, ...]) -> _Expression | None:
    """``a ^ b ^ ...``, or its complement, if the column is that."""
    odd = "".join(str(row.bit_count() & 1) for row in range(len(column)))
    if column not in (odd, _complement(odd)):
        return None
    chain = _join("^", 3, [_literal(name, True) for name in names])
    return chain if column == odd else _not(chain)


def _split(
    column: str, names: tuple[str, ...], index: int, name: str, memo: _Memo
) -> Iterator[_Expression]:
    """Expressions that use the input ``name`` once, beside functions of the other inputs."""
    low, high = _cofactors(column, index, len(names))
    rest = names[:index] + names[index + 1 :]
    on, off = _literal(name, True), _literal(name, False)
    if set(low) == {"0"}:
        yield _join("&", 4, [on, _shortest(high, rest, memo)])
    elif set(high) == {"0"}:
        yield _join("&", 4, [off, _shortest(low, rest, memo)])
    elif set(low) == {"1"}:
        yield _join("|", 2, [off, _shortest(high, rest, memo)])
    elif set(high) == {"1"}:
        yield _join("|", 2, [on, _shortest(low, rest, memo)])
    elif high == _complement(low):
        yield _join("^", 3, [on, _shortest(low, rest, memo)])
        yield _not(_join("^", 3, [on, _shortest(high, rest, memo)]))
    else:
        then, otherwise = _shortest(high, rest, memo), _shortest(low, rest, memo)
        # A choice between expressions is harder to read than its number of operands says.
        burden = 0 if then.operands == otherwise.operands == 1 else 2
        yield _Expression(
            f"{name} ? {then.inside(2)} : {otherwise.inside(2)}",
            1,
            1 + then.operands + otherwise.operands + burden,
        )


def _sum_of_products(column: str, names: tuple[str, ...]) -> _Expression:
    """A sum of prime implicants with fewest products, then fewest operands (Quine-McCluskey)."""
    minterms = frozenset(row for row, value in enumerate(column) if value == "1")
    cover = _smallest_cover(minterms, _prime_implicants(minterms, len(names)))
    products = [_product(prime, names) for prime in sorted(cover, reverse=True)]
    return products[0] if len(products) == 1 else _join("|", 2, products)


_Implicant = tuple[int, int]
"""The inputs that an implicant reads, and their values, as bits of an assignment."""


def _prime_implicants(minterms: frozenset[int], count: int) -> list[_Implicant]:
    level: set[_Implicant] = {((1 << count) - 1, row) for row in minterms}
    primes: list[_Implicant] = []
    while level:
        merged: set[_Implicant] = set()
        used: set[_Implicant] = set()
        for care, values in level:
            for bit in (1 << index for index in range(count)):
                if care & bit and (care, values ^ bit) in level:
                    merged.add((care & ~bit, values & ~bit))
                    used.add((care, values))
        primes += sorted(level - used)
        level = merged
    return primes


def _smallest_cover(minterms: frozenset[int], primes: Sequence[_Implicant]) -> list[_Implicant]:
    covers = {
        prime: frozenset(row for row in minterms if row & prime[0] == prime[1]) for prime in primes
    }
    best: list[_Implicant] = list(primes)

    def size(cover: Sequence[_Implicant]) -> tuple[int, int]:
        return (len(cover), sum(care.bit_count() for care, _ in cover))

    def extend(cover: list[_Implicant], left: frozenset[int]) -> None:
        nonlocal best
        if not left:
            if size(cover) < size(best):
                best = cover
            return
        if len(cover) + 1 > len(best):
            return
        # The minterm with fewest primes has to be covered by one of those.
        hardest = min(left, key=lambda row: (sum(row in covers[p] for p in primes), row))
        for prime in primes:
            if hardest in covers[prime]:
                extend([*cover, prime], left - covers[prime])

    extend([], minterms)
    return best


def _product(prime: _Implicant, names: tuple[str, ...]) -> _Expression:
    care, values = prime
    bits = [1 << (len(names) - 1 - index) for index in range(len(names))]
    literals = [
        _literal(name, bool(values & bit))
        for name, bit in zip(names, bits, strict=True)
        if care & bit
    ]
    return literals[0] if len(literals) == 1 else _join("&", 4, literals)
