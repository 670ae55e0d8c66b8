"""Which rows a question plays, and what may be left to the simulator."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from synth.encoding import Question, encode
from synth.encoding.symmetry import exchangeable
from synth.medium import Size
from synth.simulator import check
from synth.spec import BooleanFunction, Limits, Spec
from tests.encoding.every_layout import as_key, models

MAJORITY = "q = a & b | a & c | b & c"


def rows_of(text: str) -> tuple[int, ...]:
    return Question(Spec.parse(text), (2, 2, 2), 1, sensitive=True).asked_rows


@st.composite
def functions(draw: st.DrawFn) -> BooleanFunction:
    inputs = ("a", "b", "c", "d")[: draw(st.integers(0, 4))]
    rows = 1 << len(inputs)
    column = st.text("01-", min_size=rows, max_size=rows)
    names = ("q", "r")[: draw(st.integers(1, 2))]
    return BooleanFunction(inputs, {name: draw(column) for name in names})


def test_rows_that_some_input_changes() -> None:
    assert rows_of("q = a & b & c") == (0b011, 0b101, 0b110, 0b111)
    assert rows_of("q = a | b | c") == (0b000, 0b001, 0b010, 0b100)
    assert rows_of(MAJORITY) == (1, 2, 3, 4, 5, 6)
    assert rows_of("q = a ^ b ^ c") == tuple(range(8))
    # Where one output is at rest the other may turn.
    assert rows_of("q = a & b; r = a | b") == (0, 1, 2, 3)


@given(functions())
def test_a_row_left_out_differs_from_no_neighbour(function: BooleanFunction) -> None:
    question = Question(Spec(function), (2, 2, 2), 1, sensitive=True)
    asked = question.asked_rows
    assert asked == tuple(play.row for play in question.plays)
    assert question.every_row == (len(asked) == function.rows)
    columns = {
        row: [column[row] for column in function.outputs.values()] for row in range(function.rows)
    }
    for row in set(columns) - set(asked):
        for bit in range(len(function.inputs)):
            assert columns[row] == columns[row ^ 1 << bit]
    if len({tuple(column) for column in columns.values()}) == 1:
        assert question.every_row


@given(functions())
def test_an_exchange_of_inputs_keeps_the_rows_asked(function: BooleanFunction) -> None:
    question = Question(Spec(function), (2, 2, 2), 1, sensitive=True)
    asked = {play.on for play in question.plays}
    for names in exchangeable(question):
        one, *others = names
        for other in others:
            to = {one: other, other: one}
            assert {frozenset(to.get(name, name) for name in on) for on in asked} == asked


@pytest.mark.parametrize(
    ("text", "size", "delay", "asked"),
    [
        ("q = a & b", (2, 2, 2), 2, {}),
        ("q = a | b", (3, 1, 2), 1, {"output_faces": ["+x", "+y"]}),
        # The mirror images of its layouts, with the output on the other side, are left out.
        ("q = ~(a | b)", (1, 2, 3), 1, {"stack": "y", "joint": "buffer", "output_faces": ["+x"]}),
        ("q = ~(a & b)", (2, 2, 2), 1, {"output_faces": ["+x"]}),
    ],
)
def test_the_layouts_are_the_same_once_the_other_rows_are_played(
    text: str, size: Size, delay: int, asked: dict[str, Any]
) -> None:
    spec = Spec.parse(text, **asked)
    question = Question(spec, size, delay, break_symmetry=False, count_links=True)
    every = {as_key(layout) for layout in models(encode(question))}
    sensitive = replace(question, sensitive=True)
    assert not sensitive.every_row
    free = spec.replace(limits=Limits())
    passing = {
        as_key(layout)
        for layout in models(encode(sensitive))
        if check(layout, free, delay=delay).passes
    }
    assert passing == every != set()
