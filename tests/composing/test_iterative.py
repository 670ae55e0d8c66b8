"""Rows of equal slices are found wherever a circuit is one, and compute the circuit."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from itertools import islice, product

import pytest
from hypothesis import assume, event, example, given
from hypothesis import strategies as st

from synth.circuits.circuit import Circuit, CircuitBuilder
from synth.circuits.reading.equations import parse_equations
from synth.composing.iterative import (
    Arrangement,
    Iteration,
    arrangements,
    iterations,
    links_of,
)
from synth.simulator.settling import input_masks
from synth.spec import BooleanFunction


def handed_on(iteration: Iteration, values: Mapping[str, int]) -> dict[str, int]:
    """What a row shows, slice by slice: the plain meaning of an iteration."""
    function = iteration.function
    handed = {
        link.input: int(first) if isinstance(first, bool) else values[first]
        for link, first in zip(iteration.links, iteration.first, strict=True)
    }
    shown = {}
    for inputs, outputs in zip(iteration.inputs, iteration.outputs, strict=True):
        row = 0
        for name in function.inputs:
            row = 2 * row + (handed[name] if name in handed else values[inputs[name]])
        shown |= {name: int(function.outputs[slot][row]) for slot, name in outputs.items()}
        for link in iteration.links:
            column = function.outputs[link.output][row]
            handed[link.input] = 0 if column == "-" else int(column)
    for link, last in zip(iteration.links, iteration.last, strict=True):
        if last is not None:
            shown[last] = handed[link.input]
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
    function: BooleanFunction, links: int, copies: int, first: Sequence[str | bool]
) -> Circuit:
    """A circuit that is a row of slices; its groups are ``a0 b0``, ``a1 b1`` and so on."""
    buses = "ab"[: len(function.inputs) - links]
    names = [f"{bus}{copy}" for bus in buses for copy in range(copies)]
    extra = [value for value in first if isinstance(value, str)]
    builder = CircuitBuilder([*names, *extra])
    place = {name: builder.input(index) for index, name in enumerate(builder.inputs)}
    handed = [place[value] if isinstance(value, str) else int(value) for value in first]
    outputs = [link.output for link in links_of(links)]
    shown = {}
    for copy in range(copies):
        literals = [*(place[f"{bus}{copy}"] for bus in buses), *handed]
        for slot, column in function.outputs.items():
            if slot not in outputs:
                shown[f"{slot}_{copy}"] = gate(builder, column, literals)
        handed = [gate(builder, function.outputs[name], literals) for name in outputs]
    shown |= {f"handed_{number}": literal for number, literal in enumerate(handed)}
    return builder.circuit("row", shown)


@st.composite
def slices(draw: st.DrawFn, links: int) -> BooleanFunction:
    """The function of a slice with one or two links and any outputs."""
    local = draw(st.integers(1, 2))
    rows = 1 << (local + links)
    names = [*(f"o{i}" for i in range(draw(st.integers(0, 1))))]
    names += [link.output for link in links_of(links)]
    columns = {slot: draw(st.text("01", min_size=rows, max_size=rows)) for slot in names}
    inputs = (*(f"i{i}" for i in range(local)), *(link.input for link in links_of(links)))
    return BooleanFunction(inputs, columns)


RARE = BooleanFunction(
    ("i0", "i1", "li0", "li1"), {"lo0": "0000000000010010", "lo1": "0000000000010010"}
)
"""Of a row of these some states are told apart by few assignments only."""


@example((2, RARE), 4, [True, "c"])
@given(
    st.integers(1, 2).flatmap(lambda links: st.tuples(st.just(links), slices(links))),
    st.integers(2, 4),
    st.lists(st.sampled_from(["c", "d", False, True]), min_size=2, max_size=2, unique=True),
)
def test_rows_that_are_found_compute_the_circuit(
    drawn: tuple[int, BooleanFunction], copies: int, first: list[str | bool]
) -> None:
    links, function = drawn
    circuit = row_circuit(function, links, copies, first[:links])
    event(f"{links} links")
    found = list(islice(iterations(circuit), 6))
    event(f"found: {bool(found)}")
    assert all(computes(iteration, circuit) for iteration in found)


@given(st.text("01", min_size=8, max_size=8), st.integers(2, 4), st.sampled_from(["c", False]))
def test_a_row_that_can_be_told_is_found(column: str, copies: int, first: str | bool) -> None:
    """Two local inputs, a sum that hears the link everywhere, and any other thing handed on."""
    reached = {column[row] for row in range(8)} if first == "c" else set(column[::2])
    assume(reached == {"0", "1"})
    # Both values have to reach every place.
    ahead = {first} if isinstance(first, bool) else {False, True}
    for _ in range(copies - 1):
        ahead = {column[2 * g + state] == "1" for g in range(4) for state in ahead}
        assume(len(ahead) == 2)
    function = BooleanFunction(("i0", "i1", "li"), {"o0": "01101001", "lo": column})
    found = list(iterations(row_circuit(function, 1, copies, [first])))
    assert found
    assert len(found[0].links) == 1


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
    found = next(iterations(adder(carries)))
    assert dict(found.function.outputs) == {"o0": "01101001", "lo": "00010111"}
    assert found.first == (first,)
    assert found.last == ("c4",)
    assert found.inputs[3] == {"i0": "a3", "i1": "b3"}
    assert found.outputs[0] == {"o0": "s0"}


def test_where_the_link_is_no_output_either_value_may_begin() -> None:
    """Of an incrementer the carry or its complement may be handed on."""
    lines = ["q0 = ~a0", "q1 = a1 ^ a0", "q2 = a2 ^ (a1 & a0)", "q3 = a3 ^ (a2 & a1 & a0)"]
    circuit = parse_equations("\n".join(lines), "increment")
    found = {iteration.first: iteration for iteration in iterations(circuit)}
    assert set(found) >= {(False,), (True,)}
    assert all(computes(iteration, circuit) for iteration in found.values())
    assert found[True,].last == (None,)


def test_rare_assignments_are_not_missed() -> None:
    """All inputs of a wide AND, or all pairs of a comparator, have to be alike at once."""
    pairs = " & ".join(f"(a{i} ~^ b{i})" for i in range(16))
    found = next(iterations(parse_equations(f"q = {pairs}", "equal")))
    assert found.first == (True,)
    assert dict(found.function.outputs) == {"lo": "01000001"}
    ands = " & ".join(f"a{i}" for i in range(30))
    wide = next(iterations(parse_equations(f"q = {ands}", "and")))
    assert dict(wide.function.outputs) == {"lo": "0001"}


def test_three_states_are_told_by_two_links() -> None:
    """Less, equal and greater: two are links, the third is an output of the last slice."""
    lines = [
        "e1 = a1 ~^ b1",
        "less = ~a1 & b1 | e1 & ~a0 & b0",
        "equal = e1 & (a0 ~^ b0)",
        "greater = ~(less | equal)",
        "outputs = less equal greater",
    ]
    circuit = parse_equations("\n".join(lines), "comparator")
    found = list(iterations(circuit))
    assert all(computes(iteration, circuit) for iteration in found)
    assert {len(iteration.links) for iteration in found} == {2}
    best = found[0]
    assert None not in best.last
    assert set(best.outputs[-1]) == {"e0"}
    assert {*best.last, best.outputs[-1]["e0"]} == {"less", "equal", "greater"}


ADDER_SUBTRACTOR = """y{i} = b{i} ^ m
s{i} = a{i} ^ y{i} ^ c{i}
c{j} = a{i} & y{i} | c{i} & (a{i} | y{i})"""


@pytest.mark.parametrize(
    ("line", "left"),
    [
        ("q{i} = s ? a{i} : b{i}", {"s"}),
        ("q{i} = f ? (g ? a{i} ^ b{i} : a{i} & b{i}) : (g ? a{i} | b{i} : ~a{i})", {"f", "g"}),
        (
            "y{i} = b{i} ^ m\ns{i} = a{i} ^ y{i} ^ c{i}\nc{j} = a{i} & y{i} | c{i} & (a{i} | y{i})",
            {"m"},
        ),
    ],
)
def test_inputs_of_every_slice_are_handed_on(line: str, left: set[str]) -> None:
    """Choosers, logic units, and an adder that subtracts: its first carry is that input, too."""
    lines = [line.replace("{i}", str(i)).replace("{j}", str(i + 1)) for i in range(3)]
    text = "\n".join(lines).replace("c0", "m")
    outputs = [f"{'s' if 'm' in left else 'q'}{i}" for i in range(3)]
    circuit = parse_equations(f"{text}\noutputs = {' '.join(outputs)}", "unit")
    found = list(iterations(circuit))
    assert found
    assert all(computes(iteration, circuit) for iteration in found)
    assert {value for value in found[0].first if isinstance(value, str)} == left


@pytest.mark.parametrize(
    "text",
    [
        "t = a0 & b1 | a1 & b2 | a2 & b0; q = a0 ^ a1 & b0 ^ b2",  # Two signals say too little.
        "q0 = a0; q1 = a1",  # Nothing is handed on.
        "q = a0 & b0 | a1 & b1 & c & d & e",  # Three inputs are in no group.
        "q = a",
    ],
)
def test_what_is_no_row_is_none(text: str) -> None:
    assert not list(iterations(parse_equations(text.replace("; ", "\n"), "none")))


def test_inputs_are_arranged_by_their_numbers_from_either_end() -> None:
    found = list(arrangements(["a[1]", "a[0]", "cin", "b[1]", "b[0]"]))
    up = (("a[0]", "b[0]"), ("a[1]", "b[1]"))
    assert found == [Arrangement(up, ("cin",)), Arrangement(up[::-1], ("cin",))]
    singles = (("x",), ("y",), ("z",))
    found = list(arrangements(["x", "y", "z"]))
    assert found[:2] == [Arrangement(singles[1:], ("x",)), Arrangement(singles)]
    assert [len(one.groups) for one in arrangements(["a9", "a10", "a11"])] == [2, 3, 2, 3]
    assert list(arrangements(["a0", "a1", "p", "q"]))[1].extra == ("p", "q")
    assert not list(arrangements(["a0", "a1", "p", "q", "r"]))
