"""Rows of equal slices are found wherever a circuit is one, and compute the circuit."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from itertools import product

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from synth.circuits.circuit import Circuit, CircuitBuilder
from synth.circuits.iterative import (
    LINK_IN,
    LINK_OUT,
    Arrangement,
    Iteration,
    arrangements,
    iterations,
)
from synth.circuits.reading.equations import parse_equations
from synth.simulator.settling import input_masks
from synth.spec import BooleanFunction


def handed_on(iteration: Iteration, values: Mapping[str, int]) -> dict[str, int]:
    """What a row shows, slice by slice: the plain meaning of an iteration."""
    function = iteration.function
    link = int(iteration.first) if isinstance(iteration.first, bool) else values[iteration.first]
    shown = {}
    for inputs, outputs in zip(iteration.inputs, iteration.outputs, strict=True):
        row = 0
        for name in function.inputs:
            row = 2 * row + (link if name == LINK_IN else values[inputs[name]])
        shown |= {name: int(function.outputs[slot][row]) for slot, name in outputs.items()}
        column = function.outputs[LINK_OUT][row]
        link = 0 if column == "-" else int(column)
    if iteration.last is not None:
        shown[iteration.last] = link
    return shown


def computes(iteration: Iteration, circuit: Circuit) -> bool:
    """Whether a row shows what the circuit does, in every assignment."""
    count = len(circuit.inputs)
    columns = circuit.evaluate(input_masks(count), (1 << (1 << count)) - 1)
    for row, bits in enumerate(product((0, 1), repeat=count)):
        shown = handed_on(iteration, dict(zip(circuit.inputs, bits, strict=True)))
        if any(mask >> row & 1 != shown[name] for name, mask in columns.items()):
            return False
    return True


def gate(builder: CircuitBuilder, column: str, literals: Sequence[int]) -> int:
    """The literal of a function of literals, by its column: a choice by one after the other."""
    if not literals:
        return int(column)
    half = len(column) // 2
    low, high = (gate(builder, part, literals[1:]) for part in (column[:half], column[half:]))
    return builder.choice(literals[0], high, low)


def row_circuit(
    function: BooleanFunction, copies: int, first: str | bool, *, last: bool
) -> Circuit:
    """A circuit that is a row of slices; its groups are ``a0 b0``, ``a1 b1`` and so on."""
    buses = "ab"[: len(function.inputs) - 1]
    names = [f"{bus}{copy}" for bus in buses for copy in range(copies)]
    builder = CircuitBuilder([*names, *([first] if isinstance(first, str) else [])])
    place = {name: builder.input(index) for index, name in enumerate(builder.inputs)}
    link = place[first] if isinstance(first, str) else int(first)
    shown = {}
    for copy in range(copies):
        literals = [*(place[f"{bus}{copy}"] for bus in buses), link]
        for slot, column in function.outputs.items():
            if slot != LINK_OUT:
                shown[f"{slot}_{copy}"] = gate(builder, column, literals)
        link = gate(builder, function.outputs[LINK_OUT], literals)
    if last:
        shown["handed"] = link
    return builder.circuit("row", shown)


@st.composite
def slices(draw: st.DrawFn) -> BooleanFunction:
    """The function of a slice that hands on what it got, whatever else it does."""
    local = draw(st.integers(1, 2))
    rows = 2 << local
    columns = {
        slot: draw(st.text("01", min_size=rows, max_size=rows))
        for slot in (*(f"o{i}" for i in range(draw(st.integers(0, 1)))), LINK_OUT)
    }
    return BooleanFunction((*(f"i{i}" for i in range(local)), LINK_IN), columns)


@given(slices(), st.integers(2, 4), st.sampled_from(["c", False, True]))
def test_rows_are_found_and_compute_the_circuit(
    function: BooleanFunction, copies: int, first: str | bool
) -> None:
    column = function.outputs[LINK_OUT]
    handing = any(column[row] != column[row + 1] for row in range(0, len(column), 2))
    assume(handing)
    circuit = row_circuit(function, copies, first, last=True)
    assume("handed" in circuit.outputs and circuit.outputs["handed"] > 1)
    found = list(iterations(circuit))
    assert all(computes(iteration, circuit) for iteration in found)
    if found or first != "c":
        return
    # Nothing is handed on where a slice always says the same.
    assert len(set(column)) == 1 or len(set(column[::2])) == 1 or len(set(column[1::2])) == 1


def adder(carries: str) -> Circuit:
    """An adder of four bits whose first carry is a signal or a constant."""
    lines = ["outputs = " + " ".join(f"s{i}" for i in range(4)) + " c4"]
    for i in range(4):
        carry = carries if i == 0 else f"c{i}"
        lines.append(f"s{i} = a{i} ^ b{i} ^ {carry}")
        lines.append(f"c{i + 1} = a{i} & b{i} | {carry} & (a{i} | b{i})")
    return parse_equations("\n".join(lines), "adder")


@pytest.mark.parametrize(("carries", "first"), [("cin", "cin"), ("1'b0", False)])
def test_an_adder_is_a_row_of_full_adders(carries: str, first: str | bool) -> None:
    (found,) = iterations(adder(carries))
    assert dict(found.function.outputs) == {"o0": "01101001", LINK_OUT: "00010111"}
    assert found.first == first
    assert found.last == "c4"
    assert found.inputs[3] == {"i0": "a3", "i1": "b3"}
    assert found.outputs[0] == {"o0": "s0"}


def test_where_the_link_is_no_output_either_value_may_begin() -> None:
    """Of an incrementer the carry or its complement may be handed on."""
    lines = ["q0 = ~a0", "q1 = a1 ^ a0", "q2 = a2 ^ (a1 & a0)", "q3 = a3 ^ (a2 & a1 & a0)"]
    circuit = parse_equations("\n".join(lines), "increment")
    found = {iteration.first: iteration for iteration in iterations(circuit)}
    assert set(found) == {False, True}
    assert all(computes(iteration, circuit) for iteration in found.values())
    assert found[True].last is None


def test_rare_assignments_are_not_missed() -> None:
    """All inputs of a wide AND, or all pairs of a comparator, have to be alike at once."""
    pairs = " & ".join(f"(a{i} ~^ b{i})" for i in range(16))
    (found,) = iterations(parse_equations(f"q = {pairs}", "equal"))
    assert found.first is True
    assert dict(found.function.outputs) == {LINK_OUT: "01000001"}
    (wide,) = iterations(parse_equations("q = " + " & ".join(f"a{i}" for i in range(30)), "and"))
    assert dict(wide.function.outputs) == {LINK_OUT: "0001"}


@pytest.mark.parametrize(
    "text",
    [
        "q = a0 & b0 | a1 & b1; t = a0 ^ b1",  # One signal does not say enough.
        "q0 = a0; q1 = a1",  # Nothing is handed on.
        "q = a0 & b0 | a1 & b1 & c & d",  # Two inputs are in no group.
        "q = a",
        "less = ~a1 & b1 | (a1 ~^ b1) & ~a0 & b0; more = a1 & ~b1 | (a1 ~^ b1) & a0 & ~b0",
    ],
)
def test_what_is_no_row_is_none(text: str) -> None:
    assert not list(iterations(parse_equations(text.replace("; ", "\n"), "none")))


def test_inputs_are_arranged_by_their_numbers_from_either_end() -> None:
    found = list(arrangements(["a[1]", "a[0]", "cin", "b[1]", "b[0]"]))
    up = (("a[0]", "b[0]"), ("a[1]", "b[1]"))
    assert found == [Arrangement(up, "cin"), Arrangement(up[::-1], "cin")]
    singles = (("x",), ("y",), ("z",))
    assert next(iter(arrangements(["x", "y", "z"]))) == Arrangement(singles)
    assert [len(one.groups) for one in arrangements(["a9", "a10", "a11"])] == [3, 3]
    assert not list(arrangements(["a0", "a1", "p", "q"]))
