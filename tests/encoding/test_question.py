"""Which rows a question plays, and what may be left to the simulator."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from synth.encoding import Question, encode
from synth.encoding.free_table import FreeTable
from synth.encoding.rails import RAILS
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


def test_the_last_tick_plays_what_the_goal_reads() -> None:
    def read(text: str, joint: str, stack: str | None = None) -> list[str]:
        question = Question(Spec.parse(text, joint=joint, stack=stack), (2, 2, 2), 2)
        assert all(question.reads(rail, p, 1) for rail in RAILS for p in question.all_plays)
        return [
            "".join(rail[0] for rail in RAILS if question.reads(rail, play, 2))
            for play in question.all_plays
        ]

    assert read("q = a", "buffer") == ["p", "s"]
    # The lead of an input that is off must not be possibly on.
    assert read("q = ~a", "wire") == ["sp", "p"]
    assert read("q = a; r = ~a", "buffer", "y") == ["sp", "sp", "p"]
    free = Spec.parse("q = a").replace(function=BooleanFunction(("a",), {"q": "--"}))
    for question in (
        Question(free, (2, 2, 2), 2, free=FreeTable()),
        encode(Question(free, (2, 2, 2), 2), goal=False).question,
    ):
        assert all(question.reads(rail, p, 2) for rail in RAILS for p in question.plays)


def test_tick_0_is_made_up_of_the_unknown_and_of_inputs() -> None:
    question = Question(Spec.parse("q = a & b", stack="y"), (2, 2, 2), 1)
    unknown, a, b = question.parts_of_tick_0
    assert [set(part.on) for part in (unknown, a, b)] == [set(), {"a"}, {"b"}]
    both, neighbour = question.plays[3], question.neighbour
    assert neighbour is not None
    assert question.makes_up("surely", both, 0) == (a, b)
    assert question.makes_up("possibly", question.plays[1], 0) == (unknown, b)
    assert question.makes_up("possibly", neighbour, 0) == (unknown, a, b)
    assert question.makes_up("surely", neighbour, 0) == ()
    assert question.makes_up("surely", both, 1) == (both,)
    for other in (question.without(["first-tick"]), question.without(["order"])):
        assert other.parts_of_tick_0 == ()
        assert other.makes_up("possibly", both, 0) == (both,)
    assert replace(question, delay=0).parts_of_tick_0 == ()


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
