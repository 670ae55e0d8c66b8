"""Expressions told from truth tables: they compute what they were told from."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from synth.spec import Spec
from synth.spec.function_text import assignment_text, expression_of, function_text

NAMES = ("a", "b", "c", "d", "e", "f", "g")


@st.composite
def columns(draw: st.DrawFn) -> tuple[str, tuple[str, ...]]:
    count = draw(st.integers(0, 6))
    rows = 1 << count
    number = draw(st.integers(0, (1 << rows) - 1))
    return format(number, f"0{rows}b"), NAMES[:count]


@given(columns())
def test_expression_computes_the_column(case: tuple[str, tuple[str, ...]]) -> None:
    column, names = case
    text = expression_of(column, names)
    assert text is not None
    assert evaluate(text, names) == column


@pytest.mark.parametrize("count", [2, 3])
def test_every_small_function_is_told_right(count: int) -> None:
    rows = 1 << count
    for number in range(1 << rows):
        column = format(number, f"0{rows}b")
        text = expression_of(column, NAMES[:count])
        assert text is not None
        assert evaluate(text, NAMES[:count]) == column


@pytest.mark.parametrize(
    ("column", "expected"),
    [
        ("0000", "1'b0"),
        ("1111", "1'b1"),
        ("0011", "a"),
        ("1010", "~b"),
        ("0001", "a & b"),
        ("0010", "a & ~b"),
        ("0110", "a ^ b"),
        ("1001", "~(a ^ b)"),
        ("1000", "~(a | b)"),
        ("1110", "~(a & b)"),
        ("01010011", "a ? b : c"),
        ("00010111", "a & b | a & c | b & c"),
        ("01101001", "a ^ b ^ c"),
    ],
)
def test_common_functions_are_told_as_one_writes_them(column: str, expected: str) -> None:
    count = len(column).bit_length() - 1
    assert expression_of(column, NAMES[:count]) == expected


def test_idle_inputs_are_left_out() -> None:
    assert expression_of("0011" * 4, NAMES[:4]) == "c"


def test_of_too_many_inputs_is_said_what_can_be_said() -> None:
    column = "".join(str((row * row // 3) & 1) for row in range(128))
    assert expression_of(column, NAMES) is None
    ones = column.count("1")
    text = f"q = a function of 7 inputs, {ones} ones of 128"
    assert function_text({"q": column}, NAMES) == [text]


def test_unknown_values_are_named() -> None:
    assert function_text({"q": "0x01", "p": "xxxx"}, ("a", "b")) == [
        "q does not settle for a=0 b=1",
        "p never settles",
    ]
    many = function_text({"q": "xxxxxx00"}, ("a", "b", "c"))
    assert many == [
        "q does not settle for a=0 b=0 c=0, a=0 b=0 c=1, a=0 b=1 c=0, a=0 b=1 c=1 and 2 more"
    ]


def test_assignment_counts_with_the_first_input_most_significant() -> None:
    assert assignment_text(2, ("a", "b")) == "a=1 b=0"


def evaluate(text: str, names: tuple[str, ...]) -> str:
    """The column of an expression, by Python's own operators, which rank ``& ^ |`` alike."""
    from synth.spec.function import BooleanFunction

    python = python_expression(text)
    values = []
    for bits in BooleanFunction(names, {}).assignments():
        environment = dict(zip(names, bits, strict=True))
        values.append(str(eval(python, {"__builtins__": {}}, environment) & 1))
    return "".join(values)


def python_expression(text: str) -> str:
    """The same expression in Python: ``p ? q : r`` turned about, innermost brackets first."""
    text = text.replace("1'b", "")
    depth = 0
    for index, sign in enumerate(text):
        depth += (sign == "(") - (sign == ")")
        if sign == "?" and depth == 0:
            rest = text[index + 1 :]
            colon = _outer(rest, ":")
            condition = python_expression(text[:index])
            then, other = python_expression(rest[:colon]), python_expression(rest[colon + 1 :])
            return f"(({then}) if (({condition}) & 1) else ({other}))"
    start = text.find("(")
    if start < 0:
        return text
    stop = start + 1 + _outer(text[start + 1 :], ")")
    inner = python_expression(text[start + 1 : stop])
    return f"{text[:start]}({inner}){python_expression(text[stop + 1 :])}"


def _outer(text: str, wanted: str) -> int:
    depth = 0
    for index, sign in enumerate(text):
        if sign == wanted and depth == 0:
            return index
        depth += (sign == "(") - (sign == ")")
    raise AssertionError(f"no {wanted} in {text}")


@given(columns())
@settings(max_examples=50)
def test_our_own_reader_reads_it_alike(case: tuple[str, tuple[str, ...]]) -> None:
    column, names = case
    text = expression_of(column, names)
    assert text is not None
    function = Spec.parse(f"q = {text}").function
    order = [names.index(name) for name in function.inputs]
    again = "".join(
        function.outputs["q"][
            int("".join(format(row, f"0{len(names)}b")[index] for index in order) or "0", 2)
        ]
        for row in range(len(column))
    )
    assert again == column
