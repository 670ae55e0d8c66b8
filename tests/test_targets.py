"""The targets: what each computes, that each stacks as it says, and that each is installed."""

from __future__ import annotations

import tomllib
from pathlib import Path
from typing import Any

import pytest
import sympy
from sympy.logic.boolalg import ITE, And, Implies, Nand, Nor, Not, Or, Xnor, Xor, truth_table

from synth.errors import InputError
from synth.medium import Direction
from synth.spec import Limits, StackDemand
from synth.spec.documents import read_spec, write_spec
from synth.spec.targets import describe, load_target, target_names

ROOT = Path(__file__).resolve().parent.parent

# Function definitions of IEEE Std 91 / IEC 60617-12, from memory: the elements AND, OR,
# exclusive-OR, logic identity, even/odd, majority ("more than half of the inputs"), inverter,
# multiplexer (MUX), adder (a sum and a carry), coder (binary to 1-out-of-4); the four
# implications are terms of propositional logic. One digit for each input assignment in
# counting order, the first input the most significant.
DEFINED = {
    "inverter": {"q": "10"},
    "and2": {"q": "0001"},
    "nand2": {"q": "1110"},
    "or2": {"q": "0111"},
    "nor2": {"q": "1000"},
    "xor2": {"q": "0110"},
    "xnor2": {"q": "1001"},
    "implies2": {"q": "1101"},
    "implied-by2": {"q": "1011"},
    "does-not-imply2": {"q": "0010"},
    "not-implied-by2": {"q": "0100"},
    "mux2": {"q": "00011011"},
    "maj3": {"q": "00010111"},
    "parity3": {"q": "01101001"},
    "half-adder": {"s": "0110", "co": "0001"},
    "full-adder": {"s": "01101001", "co": "00010111"},
    "decoder2to4": {"y0": "1000", "y1": "0100", "y2": "0010", "y3": "0001"},
}

# Slices of a row. IEEE 91 has the adder, subtractor, comparator, even/odd element and shifter as
# whole elements; what one bit of them computes is common practice of iterative networks.
SLICES = {
    "full-adder": {"s": "01101001", "co": "00010111"},
    # Nothing is asked where the carry and its complement are alike.
    "two-rail-full-adder": {
        "s": "-01--10--10--01-",
        "co": "-00--01--01--11-",
        "no": "-11--10--10--00-",
    },
    "full-subtractor": {"d": "01101001", "bo": "01110001"},
    "incrementer": {"s": "0110", "co": "0001"},
    "equality": {"eo": "01000001"},
    "greater-than": {"go": "01001101"},
    "greater-than-down": {"eo": "0011000000000011", "go": "0101010101110101"},
    "parity": {"po": "0110"},
    "priority": {"q": "0001", "eo": "0100"},
    "shifter": {"q": "00011101", "lo": "00001111"},
}

a, b, c, s, ci = sympy.symbols("a b c s ci")
IN_SYMPY: dict[str, dict[str, Any]] = {
    "inverter": {"q": Not(a)},
    "and2": {"q": And(a, b)},
    "nand2": {"q": Nand(a, b)},
    "or2": {"q": Or(a, b)},
    "nor2": {"q": Nor(a, b)},
    "xor2": {"q": Xor(a, b)},
    "xnor2": {"q": Xnor(a, b)},
    "implies2": {"q": Implies(a, b)},
    "implied-by2": {"q": Implies(b, a)},
    "does-not-imply2": {"q": Not(Implies(a, b))},
    "not-implied-by2": {"q": Not(Implies(b, a))},
    "mux2": {"q": ITE(s, b, a)},
    "maj3": {"q": Or(And(a, b), And(b, c), And(a, c))},
    "parity3": {"q": Xor(a, b, c)},
    "half-adder": {"s": Xor(a, b), "co": And(a, b)},
    "full-adder": {"s": Xor(a, b, ci), "co": ITE(Xor(a, b), ci, a)},
    "decoder2to4": {
        "y0": Nor(a, b),
        "y1": And(Not(a), b),
        "y2": And(a, Not(b)),
        "y3": And(a, b),
    },
}


def test_each_comes_plain_and_stackable() -> None:
    slices = {f"{name}-slice" for name in SLICES}
    assert set(target_names()) == {*DEFINED, *(f"{name}-stack" for name in DEFINED), *slices}
    assert target_names() == tuple(sorted(target_names()))


@pytest.mark.parametrize("name", target_names())
def test_each_computes_what_the_standard_defines(name: str) -> None:
    known = SLICES if name.endswith("-slice") else DEFINED
    own = name.removesuffix("-stack").removesuffix("-slice")
    assert dict(load_target(name).function.outputs) == known[own]


WHOLE = [name for name in target_names() if not name.endswith("-slice")]


@pytest.mark.parametrize("name", WHOLE)
def test_each_computes_what_sympy_says(name: str) -> None:
    function = load_target(name).function
    symbols = [sympy.Symbol(called) for called in function.inputs]
    for output, expression in IN_SYMPY[name.removesuffix("-stack")].items():
        values = truth_table(expression, symbols, input=False)
        assert function.outputs[output] == "".join("1" if value else "0" for value in values)


def test_adders_add() -> None:
    for name in ("half-adder", "full-adder"):
        function = load_target(name).function
        for row, bits in enumerate(function.assignments()):
            total = 2 * int(function.outputs["co"][row]) + int(function.outputs["s"][row])
            assert total == sum(bits)


def test_the_ten_functions_of_two_inputs_that_need_both() -> None:
    """Of 16 columns, those that change with a and with b (2 are constant, 4 copy or invert)."""
    needs_both = {
        format(column, "04b")
        for column in range(16)
        if (column >> 2) != (column & 3) and (column & 0b1010) >> 1 != (column & 0b0101)
    }
    assert len(needs_both) == 10
    two = {name: columns for name, columns in DEFINED.items() if name.endswith("2")}
    found = [columns["q"] for columns in two.values() if len(columns["q"]) == 4]
    assert sorted(found) == sorted(needs_both)


def played(name: str, copies: int, inputs: dict[str, int], links: dict[str, int]) -> dict[str, int]:
    """What a row of slices reads in the end: bits of every copy, links handed on.

    ``inputs`` are whole numbers, bit 0 that of the first copy; ``links`` what the first is given.
    """
    spec = load_target(f"{name}-slice")
    values, handed = {}, dict(links)
    for copy in range(copies):
        given = {pin: number >> copy & 1 for pin, number in inputs.items()} | handed
        row = int("".join(str(given[pin]) for pin in spec.function.inputs), 2)
        read = {out: int(column[row]) for out, column in spec.function.outputs.items()}
        values |= {f"{out}[{copy}]": bit for out, bit in read.items()}
        handed = {link.input: read[link.output] for link in spec.chain}
    return values | {link.output: handed[link.input] for link in spec.chain}


def number_of(values: dict[str, int], name: str, bits: int) -> int:
    return sum(values[f"{name}[{bit}]"] << bit for bit in range(bits))


@pytest.mark.parametrize("one", range(8))
@pytest.mark.parametrize("two", range(8))
def test_rows_of_slices_do_arithmetic(one: int, two: int) -> None:
    """Three copies of each, against Python's own numbers."""
    both = {"a": one, "b": two}
    for carry in (0, 1):
        total = played("full-adder", 3, both, {"ci": carry})
        assert number_of(total, "s", 3) + 8 * total["co"] == one + two + carry
        rails = played("two-rail-full-adder", 3, both, {"ci": carry, "cn": 1 - carry})
        assert rails == total | {"no": 1 - total["co"]} | {
            f"no[{copy}]": 1 - total[f"co[{copy}]"] for copy in range(3)
        }
        less = played("full-subtractor", 3, both, {"bi": carry})
        assert number_of(less, "d", 3) - 8 * less["bo"] == one - two - carry
        more = played("incrementer", 3, {"a": one}, {"ci": carry})
        assert number_of(more, "s", 3) + 8 * more["co"] == one + carry
    assert played("equality", 3, both, {"ei": 1})["eo"] == (one == two)
    assert played("greater-than", 3, both, {"gi": 0})["go"] == (one > two)
    # The first copy of this one has the most significant bit.
    turned = {name: int(f"{number:03b}"[::-1], 2) for name, number in both.items()}
    down = played("greater-than-down", 3, turned, {"ei": 1, "gi": 0})
    assert (down["go"], down["eo"]) == (one > two, one == two)
    assert played("parity", 3, {"a": one}, {"pi": 0})["po"] == one.bit_count() % 2
    granted = played("priority", 3, {"a": one}, {"ei": 1})
    assert number_of(granted, "q", 3) == one & -one
    assert granted["eo"] == (one == 0)
    shifted = played("shifter", 3, {"a": one, "s": 7}, {"li": two & 1})
    assert number_of(shifted, "q", 3) == (one << 1 | two & 1) & 7
    assert number_of(played("shifter", 3, {"a": one, "s": 0}, {"li": 1}), "q", 3) == one


@pytest.mark.parametrize("name", SLICES)
def test_slices_are_2_wide_and_hand_their_links_on(name: str) -> None:
    spec = load_target(f"{name}-slice")
    assert spec.limits == Limits(width=2, delay=spec.limits.delay)
    assert spec.stack is not None
    assert spec.stack.axis == "x"
    assert spec.chain


@pytest.mark.parametrize("name", DEFINED)
def test_plain_ones_leave_the_box_free_and_stackable_ones_all_but_the_width(name: str) -> None:
    plain, stackable = load_target(name), load_target(f"{name}-stack")
    assert plain.limits == Limits(delay=plain.limits.delay)
    assert plain.stack is None
    assert stackable.limits == Limits(width=2, delay=plain.limits.delay)
    assert stackable.stack == StackDemand("y")
    for pin in stackable.function.inputs:
        assert stackable.pins[pin].faces == (Direction.NX,)
    for pin in stackable.function.outputs:
        assert stackable.pins[pin].faces == (Direction.PX,)


@pytest.mark.parametrize("name", target_names())
def test_each_is_named_and_described_in_one_line(name: str) -> None:
    spec = load_target(name)
    assert spec.name == name
    assert spec.description == describe(name)
    assert spec.description.isprintable()
    assert 10 < len(spec.description) <= 120
    assert name.endswith("-stack") == ("stacks along y" in spec.description)


@pytest.mark.parametrize("name", target_names())
def test_each_is_written_and_read_back(name: str) -> None:
    spec = load_target(name)
    assert read_spec(tomllib.loads(write_spec(spec))) == spec


def test_an_unknown_name() -> None:
    with pytest.raises(InputError, match=r"no target 'xor3'; did you mean xor2"):
        load_target("xor3")
    with pytest.raises(InputError, match=r"no target '\.\./pyproject'; use and2"):
        describe("../pyproject")


def test_every_package_is_installed_and_its_data_with_it() -> None:
    setup = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["tool"][
        "setuptools"
    ]
    inside = {
        ".".join(path.parent.relative_to(ROOT).parts)
        for path in (ROOT / "synth").rglob("__init__.py")
    }
    # `import gatefit` is the folder synth/alias.
    assert set(setup["packages"]) == inside - {"synth.alias"} | {"synth.targets", "gatefit"}
    assert setup["package-dir"]["gatefit"] == "synth/alias"
    assert setup["package-dir"]["synth.targets"] == "targets"
    assert setup["package-data"]["synth.targets"] == ["*.toml"]
    assert "*.md" in setup["package-data"]["synth"]
    assert {path.stem for path in (ROOT / "targets").glob("*.toml")} == set(target_names())
