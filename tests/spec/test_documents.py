"""Specification documents: read as their page says, written and read back, and refused."""

from __future__ import annotations

import itertools
import pickle
import re
import tomllib
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given

from synth.errors import InputError
from synth.medium import SOLID, WIRE, Direction, Joint, buffer, inverter
from synth.spec import BooleanFunction, Limits, PinDemand, Spec, StackDemand
from synth.spec.documents import load_spec, read_spec, spec_document, write_spec
from tests.spec.strategies import specs

EXAMPLE = """
name = "sum_bit"
inputs = ["a", "b"]

[outputs]                  # operators of IEEE 1364: ~ & | ^ ~^ ?: and 1'b0 1'b1
q = "a ^ b"

[limits]
length = 5
width = 2
height = 5
delay = 2

[stack]
axis = "y"

[pins]
a = { faces = ["-x"] }
b = { at = [0, 1, 2], faces = ["-x"] }
q = { faces = ["+x"], joint = "buffer" }

[cells]
empty = [[0, 0, 4]]
fixed = [{ at = [1, 0, 0], part = "solid" }]
"""

TABLE = """
inputs = ["a", "b"]
outputs = ["q"]
table = ["00 0", "01 1", "10 1", "11 0"]
"""


def read(text: str) -> Spec:
    return read_spec(tomllib.loads(text))


def test_the_example_is_read_as_it_says() -> None:
    assert read(EXAMPLE) == Spec(
        function=BooleanFunction(("a", "b"), {"q": "0110"}),
        limits=Limits(length=5, width=2, height=5, delay=2),
        pins={
            "a": PinDemand((Direction.NX,)),
            "b": PinDemand((Direction.NX,), (0, 1, 2)),
            "q": PinDemand((Direction.PX,), None, Joint.BUFFER),
        },
        stack=StackDemand("y"),
        empty=frozenset({(0, 0, 4)}),
        fixed={(1, 0, 0): SOLID},
        name="sum_bit",
    )


def test_a_table_and_expressions_say_the_same() -> None:
    expressions = read('[outputs]\nq = "a ^ b"')
    assert read(TABLE) == expressions
    assert read(TABLE.replace('"00 0", "01 1", "10 1"', '"10 1", "00 0", "01 1"')) == expressions


def test_tables_with_several_outputs_and_dont_cares() -> None:
    spec = read('inputs = ["a"]\noutputs = ["q", "r"]\ntable = ["0 1-", "1   -0"]')
    assert spec.function == BooleanFunction(("a",), {"q": "1-", "r": "-0"})
    none = read('inputs = []\noutputs = ["q", "r"]\ntable = ["1-"]')
    assert none.function == BooleanFunction((), {"q": "1", "r": "-"})


def test_inputs_are_in_order_of_appearance_unless_listed() -> None:
    assert read('[outputs]\nr = "b"\nq = "a ^ b"').function.inputs == ("b", "a")
    assert read('inputs = ["a", "b"]\n[outputs]\nq = "b & ~a"').function.outputs["q"] == "0100"


def test_everything_is_optional_but_the_outputs() -> None:
    spec = read('[outputs]\nq = "a"')
    assert spec == Spec(BooleanFunction(("a",), {"q": "01"}))
    assert (spec.limits, spec.stack, spec.ground) == (Limits(), None, False)
    assert (spec.name, spec.description) == (None, "")


def test_all_other_keys() -> None:
    spec = read(
        """
        description = "a copy of a"
        ground = true
        joint = "buffer"
        [outputs]
        q = "a"
        [limits]
        length = 2
        width = 1
        height = 2
        volume = 4
        floor = 2
        parts = 0
        delay = 0
        [stack]
        axis = "x"
        pitch = 3
        [pins]
        q = { joint = "wire" }
        [cells]
        fixed = [
            { at = [0, 0, 0], part = "inverter", on = "+x" },
            { at = [1, 0, 0], part = "buffer", to = "-y", delay = 3 },
            { at = [1, 0, 1], part = "buffer", to = "-y" },
            { at = [0, 0, 1], part = "wire" },
        ]
        """
    )
    assert spec.description == "a copy of a"
    assert spec.ground
    assert spec.limits == Limits(2, 1, 2, volume=4, floor=2, parts=0, delay=0)
    assert spec.stack == StackDemand("x", 3)
    assert spec.pins == {"a": PinDemand(joint=Joint.BUFFER), "q": PinDemand(joint=Joint.WIRE)}
    assert spec.fixed == {
        (0, 0, 0): inverter(Direction.PX),
        (1, 0, 0): buffer(Direction.NY, 3),
        (1, 0, 1): buffer(Direction.NY, 1),
        (0, 0, 1): WIRE,
    }


@given(specs())
def test_written_and_read_back(spec: Spec) -> None:
    text = write_spec(spec)
    assert tomllib.loads(text) == spec_document(spec)
    assert read(text) == spec
    assert list(read(text).function.outputs) == list(spec.function.outputs)


@given(specs())
def test_pickled_and_back(spec: Spec) -> None:
    assert pickle.loads(pickle.dumps(spec)) == spec
    assert spec.replace() == spec


def test_written_text() -> None:
    assert write_spec(read(EXAMPLE)) == (
        """\
name = "sum_bit"
inputs = ["a", "b"]
outputs = ["q"]
table = ["00 0", "01 1", "10 1", "11 0"]

[limits]
length = 5
width = 2
height = 5
delay = 2

[stack]
axis = "y"

[pins]
a = { faces = ["-x"] }
b = { at = [0, 1, 2], faces = ["-x"] }
q = { faces = ["+x"], joint = "buffer" }

[cells]
empty = [[0, 0, 4]]
fixed = [{ at = [1, 0, 0], part = "solid" }]
"""
    )


def test_what_cannot_be_read_is_not_written() -> None:
    spec = Spec(BooleanFunction(("a",), {"q": "01"}))
    with pytest.raises(InputError, match=r"name: .* cannot be printed; use one line"):
        write_spec(spec.replace(name="a\nb"))
    with pytest.raises(InputError, match=r"description: .* cannot be printed"):
        write_spec(spec.replace(description="a\x7f"))


Q = '[outputs]\nq = "a ^ b"\n'
SIZED = Q + "[limits]\nlength = 3\nwidth = 2\nheight = 2\n"
EMPTY = "[cells]\nempty = "
FIXED = "[cells]\nfixed = "

WRONG = [
    ("", "the outputs are missing; add [outputs] with an expression each"),
    ("naem = 1\n" + Q, "unknown key 'naem'; did you mean 'name'? the keys here are name"),
    ("name = 1\n" + Q, "name: 1 is no text; put it in quotes"),
    ('name = "a\\nb"\n' + Q, "name: 'a\\nb' has characters that cannot be printed"),
    ("description = []\n" + Q, "description: [] is no text"),
    ("ground = 1\n" + Q, "ground: 1 is neither true nor false; use true or false"),
    ('joint = "wir"\n' + Q, "joint: no joint 'wir'; did you mean 'wire'? use one of wire, buffer"),
    # Functions.
    ("outputs = 3", "outputs: 3 does not list outputs; use [outputs] with an expression each, or"),
    ("outputs = []", "outputs: no outputs; name at least one"),
    ("[outputs]", "outputs: no outputs; name at least one"),
    ("[outputs]\nq = 1", "outputs.q: 1 is no text"),
    ('[outputs]\n"1q" = "a"', "outputs.1q: '1q' is no name for a pin; use letters"),
    ('[outputs]\nq = "a + b"', "outputs.q, column 3: '+' is not used here; write | for or"),
    ('inputs = "ab"\n' + Q, "inputs: 'ab' is no list"),
    ('inputs = ["a", 1]\n' + Q, "inputs[1]: 1 is no text"),
    ('inputs = ["a", "a"]\n' + Q, "inputs[1]: the input 'a' is listed twice"),
    ('inputs = ["a", "q"]\n' + Q, "inputs[1]: 'q' is an input and an output"),
    ('inputs = ["a"]\n' + Q, "outputs.q, column 5: 'b' is neither an input nor assigned"),
    ("table = []\n" + Q, "table: a table beside expressions; leave it out, or list"),
    # Truth tables.
    (TABLE.replace('["a", "b"]', '["a", "q"]'), "inputs[1]: 'q' is an input and an output"),
    (TABLE.replace('["q"]', '["q", "q"]'), "outputs[1]: the output 'q' is listed twice"),
    (TABLE.replace('["q"]', '["q", 1]'), "outputs[1]: 1 is no text"),
    (TABLE.replace("inputs", "table2"), "unknown key 'table2'; did you mean 'table'?"),
    ('outputs = ["q"]\ntable = ["1"]', "outputs are listed by name, and the key 'inputs' is miss"),
    ('outputs = ["q"]\ninputs = ["a"]', "outputs are listed by name, and the key 'table' is miss"),
    (TABLE.replace('"01 1"', '"010 1"'), "table[1]: the row '010 1' does not fit 2 inputs and 1"),
    (TABLE.replace('"01 1"', '"01 11"'), "table[1]: the row '01 11' does not fit 2 inputs and 1"),
    (TABLE.replace('"01 1"', '"0 11"'), "table[1]: the row '0 11' does not fit 2 inputs and 1"),
    (TABLE.replace('"01 1"', '"011"'), "table[1]: the row '011' does not fit 2 inputs and 1"),
    (TABLE.replace('"01 1"', '"01 1 1"'), "table[1]: the row '01 1 1' does not fit 2 inputs"),
    (TABLE.replace('"01 1"', '"0- 1"'), "table[1]: the row '0- 1' has other characters than 0 and"),
    (TABLE.replace('"01 1"', '"01 x"'), "table[1]: the row '01 x' has other characters than 0 and"),
    (TABLE.replace('"01 1"', "11"), "table[1]: 11 is no text"),
    (TABLE.replace('"01 1"', '"00 1"'), "table[1]: the row '00' stands twice; keep this one or ta"),
    (TABLE.replace('"01 1", ', ""), "table: no row for the inputs '01'; give each of the 4 input"),
    (TABLE.replace('"01 1", "10 1", ', ""), "table: no row for the inputs '01' and 1 more; give"),
    # Limits and stacking.
    (Q + "[limits]\nlenght = 3", "limits: unknown key 'lenght'; did you mean 'length'?"),
    (Q + "[limits]\nlength = 0", "limits.length: a length of 0; use 1 to 64"),
    (Q + "[limits]\nlength = 65", "limits.length: a length of 65; use 1 to 64"),
    (Q + "[limits]\nlength = 2.0", "limits.length: a length of 2.0; use a whole number"),
    (Q + "[limits]\nlength = true", "limits.length: a length of True; use a whole number"),
    (Q + "[limits]\ndelay = -1", "limits.delay: a delay of -1; use 0 to 64"),
    (Q + '[limits]\nparts = "3"', "limits.parts: a parts of '3'; use a whole number"),
    ("limits = 3\n" + Q, "limits: 3 is no table"),
    (Q + "[stack]", "stack: the key 'axis' is missing"),
    (Q + '[stack]\naxis = "w"', "stack.axis: no axis 'w'; use one of x, y, z"),
    (Q + '[stack]\naxis = "y"\npitch = 0', "stack.pitch: 0 is too small"),
    (Q + '[stack]\naxis = "y"\npich = 2', "stack: unknown key 'pich'; did you mean 'pitch'?"),
    ("ground = true\n" + Q + '[stack]\naxis = "z"', "stack.axis: a layout on ground does not stac"),
    # Pins.
    (Q + "[pins]\ncc = {}", "pins.cc: no input or output 'cc'; the pins are a, b, q"),
    (Q + "[pins]\naa = {}", "pins.aa: no input or output 'aa'; did you mean 'a'? the pins are"),
    (Q + "[pins]\na = 3", "pins.a: 3 is no table"),
    (Q + "[pins]\na = { face = 1 }", "pins.a: unknown key 'face'; did you mean 'faces'?"),
    (Q + '[pins]\na = { faces = "-x" }', "pins.a.faces: '-x' is no list"),
    (Q + "[pins]\na = { faces = [] }", "pins.a.faces: no face is left for pin 'a'"),
    (Q + '[pins]\na = { faces = ["+z"] }', "pins.a.faces[0]: no direction '+z'; use one of +x, -x"),
    (Q + '[pins]\na = { joint = "x" }', "pins.a.joint: no joint 'x'; use one of wire, buffer"),
    (Q + "[pins]\na = { at = [1, 2] }", "pins.a.at: [1, 2] is no cell; use three whole numbers"),
    (Q + "[pins]\na = { at = [-1, 2, 0] }", "pins.a.at: pin 'a' at [-1, 2, 0] lies outside the"),
    (SIZED + "[pins]\na = { at = [3, 0, 0] }", "pins.a.at: pin 'a' at [3, 0, 0] lies outside the"),
    (
        Q + '[pins]\na = { at = [1, 0, 0], faces = ["-x"] }',
        "pins.a.at: pin 'a' at [1, 0, 0] is not at the edge of the box on -x; choose a cell",
    ),
    (
        SIZED + '[stack]\naxis = "y"\n[pins]\na = { at = [1, 0, 0] }\n' + EMPTY + "[[0, 0, 0]]",
        "pins.a.at: pin 'a' at [1, 0, 0] is not at the edge of the box on +x -x; choose",
    ),
    (
        Q + '[stack]\naxis = "y"\n[pins]\na = { faces = ["-x", "+y"] }',
        "pins.a.faces: pin 'a' on face +y, along the stacking axis y (section 7); use -x",
    ),
    (
        Q + '[stack]\naxis = "y"\n[pins]\na = { faces = ["+y"] }',
        "pins.a.faces: pin 'a' on face +y, along the stacking axis y (section 7); use a face",
    ),
    # Cells.
    (Q + EMPTY + "[[0, 0, 0]]", "cells: cells are asked of a box whose size is not given; give"),
    (Q + "[limits]\nlength = 3\n" + EMPTY + "[[0, 0, 0]]", "cells: cells are asked of a box whose"),
    (SIZED + "[cells]\nemty = []", "cells: unknown key 'emty'; did you mean 'empty'?"),
    (SIZED + EMPTY + "[[0, 0]]", "cells.empty[0]: [0, 0] is no cell"),
    (SIZED + EMPTY + "[[0, 0, 2]]", "cells.empty: the empty cell at [0, 0, 2] lies outside the"),
    (SIZED + EMPTY + "[[0, 0, 1], [0, 0, 1]]", "cells.empty[1]: the cell [0, 0, 1] is listed tw"),
    (SIZED + FIXED + "[3]", "cells.fixed[0]: 3 is no table"),
    (
        SIZED + FIXED + '[{ at = [3, 0, 0], part = "solid" }]',
        "cells.fixed: the fixed part at [3, 0, 0] lies outside the box; use a cell with 0 <= x < 3",
    ),
    (
        SIZED + FIXED + '[{ at = [0, 0, 0], part = "inverter" }]',
        "cells.fixed[0]: the key 'on' is missing",
    ),
    (
        SIZED + FIXED + '[{ at = [0, 0, 0], part = "solid" }, { at = [0, 0, 0], part = "wire" }]',
        "cells.fixed[1].at: two parts at [0, 0, 0]: solid and wire",
    ),
    (
        SIZED + EMPTY + '[[0, 0, 0]]\nfixed = [{ at = [0, 0, 0], part = "solid" }]',
        "cells.fixed: the cell [0, 0, 0] is to be empty and to hold a fixed part",
    ),
]


@pytest.mark.parametrize(("text", "message"), WRONG)
def test_what_is_wrong_is_named_with_its_place(text: str, message: str) -> None:
    with pytest.raises(InputError) as caught:
        read(text)
    assert str(caught.value).startswith(message), str(caught.value)


def test_a_pin_may_sit_where_some_smaller_box_has_its_edge() -> None:
    """Limits are upper bounds: the box may end at that cell."""
    spec = read(SIZED + '[pins]\na = { at = [1, 0, 0], faces = ["+x"] }')
    assert spec.pins["a"].at == (1, 0, 0)


def test_nine_inputs_are_too_many_for_a_table() -> None:
    rows = ["".join(bits) + " 0" for bits in itertools.product("01", repeat=9)]
    document: dict[str, Any] = {"inputs": list("abcdefghi"), "outputs": ["q"], "table": rows}
    with pytest.raises(InputError, match=re.escape("9 inputs, and the search asks about all 2**9")):
        read_spec(document)
    document = {"inputs": list("abcdefgh"), "outputs": ["q"], "table": [r[1:] for r in rows[:256]]}
    assert len(read_spec(document).function.outputs["q"]) == 256


NOT_TOML = [
    (b"name = \n", r"line 1, column 8: not TOML: \w"),
    (b'name = "a"\n[outputs\nq = 1', r"line 2, column 9: not TOML: \w"),
    (b'name = "a"\nname = "b"\n', r"line 2, column \d+: not TOML: \w"),
    (b"name = 1\nb = [", r"line 2, column 6: not TOML: \w"),
    (b"\xff", r"byte 0: is not UTF-8 text \(byte 0xff\); save the file as UTF-8"),
    (b"a = " + b"[" * 50_000, r"not usable: nested too deeply"),
    (b"length = " + b"1" * 5000, r"not TOML: \w"),
]


@pytest.mark.parametrize(("data", "message"), NOT_TOML, ids=[message for _, message in NOT_TOML])
def test_a_file_that_is_no_toml(data: bytes, message: str, tmp_path: Path) -> None:
    path = tmp_path / "spec.toml"
    path.write_bytes(data)
    with pytest.raises(InputError) as caught:
        load_spec(path)
    assert re.search(message, str(caught.value)), str(caught.value)
    assert str(caught.value).startswith(f"{path}: ")


def test_errors_in_a_file_name_the_file_and_the_place(tmp_path: Path) -> None:
    path = tmp_path / "spec.toml"
    path.write_text(Q + "[limits]\nlength = 0")
    with pytest.raises(InputError) as caught:
        Spec.load(path)
    assert str(caught.value) == f"{path}: limits.length: a length of 0; use 1 to 64"
    with pytest.raises(InputError, match="no such file; check the path"):
        Spec.load(tmp_path / "none.toml")
    with pytest.raises(InputError, match="is a directory; name a file in it"):
        Spec.load(tmp_path)


def test_a_byte_order_mark_and_windows_line_ends_are_read(tmp_path: Path) -> None:
    path = tmp_path / "spec.toml"
    path.write_bytes(b"\xef\xbb\xbf" + EXAMPLE.replace("\n", "\r\n").encode())
    assert load_spec(path) == read(EXAMPLE)
