"""One name a function: what it means, in any order of inputs, and that targets keep to it."""

from __future__ import annotations

from itertools import permutations, product

import pytest
import sympy
from hypothesis import given
from hypothesis import strategies as st
from sympy.logic.boolalg import (
    ITE,
    And,
    Boolean,
    BooleanFunction,
    Equivalent,
    Implies,
    Nand,
    Nor,
    Not,
    Or,
    Xor,
)

from synth.spec.function_names import FUNCTION_NAMES, function_name, name_of_column
from synth.spec.targets import load_target, target_names

NAMED = [(table, name) for named in FUNCTION_NAMES.values() for table, name in named.items()]

a, b, c = sympy.symbols("a b c")

FORMULAS: dict[str, Boolean] = {
    "inverter": Not(a),
    "buffer": a,
    "and2": And(a, b),
    "or2": Or(a, b),
    "xor2": Xor(a, b),
    "xnor2": Equivalent(a, b),
    "nand2": Nand(a, b),
    "nor2": Nor(a, b),
    "does-not-imply2": And(a, Not(b)),
    "implies2": Implies(a, b),
    "and3": And(a, b, c),
    "or3": Or(a, b, c),
    "nand3": Nand(a, b, c),
    "nor3": Nor(a, b, c),
    "parity3": Xor(a, b, c),
    "even-parity3": Not(Xor(a, b, c)),
    "maj3": Or(And(a, b), And(b, c), And(a, c)),
    "minority3": Not(Or(And(a, b), And(b, c), And(a, c))),
    "mux2": ITE(a, b, c),
    "equal3": Equivalent(a, b, c),
    "not-equal3": Not(Equivalent(a, b, c)),
    "exactly-two3": Or(And(a, b, Not(c)), And(a, Not(b), c), And(Not(a), b, c)),
    "exactly-one3": Or(And(a, Not(b), Not(c)), And(Not(a), b, Not(c)), And(Not(a), Not(b), c)),
}
"""Each name as logic design defines it (from memory), in the words of sympy."""


def table_of(formula: Boolean, inputs: int) -> str:
    """The column of a formula, worked out by sympy."""
    symbols = sympy.symbols(list("abc"[:inputs]))
    assert isinstance(formula, BooleanFunction | sympy.Symbol)
    return "".join(
        str(int(bool(formula.subs(dict(zip(symbols, map(bool, bits), strict=True))))))
        for bits in product((0, 1), repeat=inputs)
    )


def images(table: str) -> set[str]:
    """The table with its inputs in every order."""
    inputs = len(table).bit_length() - 1
    of = dict(zip(product((0, 1), repeat=inputs), table, strict=True))
    return {
        "".join(of[tuple(bits[at] for at in order)] for bits in product((0, 1), repeat=inputs))
        for order in permutations(range(inputs))
    }


@pytest.mark.parametrize(("table", "name"), NAMED)
def test_a_name_means_what_logic_design_says(table: str, name: str) -> None:
    inputs = len(table).bit_length() - 1
    assert table_of(FORMULAS[name], inputs) in images(table)
    assert {function_name(image) for image in images(table)} == {name}


def test_no_function_has_two_names_and_no_name_two_functions() -> None:
    names = [name for _, name in NAMED]
    assert len(set(names)) == len(names) == len(FORMULAS)
    classes = [min(images(table)) for table, _ in NAMED]
    assert len(set(classes)) == len(classes)


@given(st.sampled_from(NAMED), st.integers(0, 3), st.sampled_from("01"))
def test_inputs_that_do_not_matter_do_not_change_the_name(
    named: tuple[str, str], place: int, constant: str
) -> None:
    table, name = named
    count = len(table).bit_length() - 1
    block = 1 << max(0, count - place)
    wider = "".join(2 * table[at : at + block] for at in range(0, len(table), block))
    assert name_of_column(wider) == name
    assert name_of_column(constant * len(wider)) == ""
    assert name_of_column("x" + table[1:]) == ""


ALIASES = {"implied-by2": "implies2", "not-implied-by2": "does-not-imply2"}
"""Targets that are another one with its inputs in the other order."""


@pytest.mark.parametrize("target", [name for name in target_names() if "-stack" not in name])
def test_targets_are_called_as_their_functions(target: str) -> None:
    spec = load_target(target)
    outputs = spec.function.outputs
    # A slice is named by what a row of it does.
    if len(outputs) == 1 and not spec.chain:
        (column,) = outputs.values()
        assert function_name(column) == ALIASES.get(target, target)
