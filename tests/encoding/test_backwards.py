"""What leads to an output is said once, and no layout is lost or gained by it."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from typing import Any

import pytest
from pysat.solvers import Solver

from synth.encoding import Encoding, Question, encode
from synth.encoding.backwards import RULE, Backwards
from synth.encoding.free_table import FreeTable
from synth.layout import Layout
from synth.medium import Size
from synth.simulator import check
from synth.spec import BooleanFunction, Limits, Spec
from tests.encoding.every_layout import as_key, models


@pytest.mark.parametrize(
    ("text", "size", "delay", "asked"),
    [
        ("q = ~a", (2, 2, 1), 1, {"ground": True, "stack": "y"}),
        ("q = ~a", (2, 2, 1), 2, {"ground": True, "stack": "y", "joint": "buffer"}),
        ("q = ~a", (1, 2, 2), 1, {"stack": "x", "joint": "buffer", "output_faces": ["+y"]}),
        ("q = a | b", (2, 1, 1), 2, {"ground": True}),
        ("q = a; r = ~a", (2, 2, 1), 1, {"ground": True, "joint": "buffer"}),
        ("q = a; r = ~a", (2, 2, 2), 1, {"joint": "buffer", "stack": "y"}),
        ("q = ~a", (2, 1, 2), 2, {"stack": "z"}),
    ],
)
def test_the_layouts_are_the_same(text: str, size: Size, delay: int, asked: dict[str, Any]) -> None:
    spec = Spec.parse(text, **{"output_faces": ["+x"], **asked})
    question = Question(spec, size, delay, break_symmetry=False)
    encoding = encode(question)
    assert encoding.formula.counts[RULE]
    layouts = {as_key(layout) for layout in models(encoding)}
    assert layouts
    plain = encode(question.without(["backwards"]))
    assert not plain.formula.counts[RULE]
    assert layouts == {as_key(layout) for layout in models(plain)}


@pytest.mark.parametrize(
    ("size", "delay", "asked", "free"),
    [
        ((2, 2, 1), 2, {"ground": True, "stack": "y", "joint": "buffer"}, FreeTable()),
        ((2, 2, 1), 1, {"ground": True, "stack": "y"}, FreeTable()),
        ((2, 1, 1), 1, {"ground": True}, FreeTable(every_input_matters=False)),
        ((2, 1, 2), 2, {"stack": "z"}, FreeTable(sought=(("10",), ("-1",)))),
    ],
)
def test_with_a_free_table_the_layouts_compute_the_same(
    size: Size, delay: int, asked: dict[str, Any], free: FreeTable
) -> None:
    spec = Spec.parse("q = a", **{"output_faces": ["+x"], **asked})
    spec = spec.replace(function=BooleanFunction(("a",), {"q": "--"}))
    question = Question(spec, size, delay, break_symmetry=False, free=free)
    told, plain = (encode(one) for one in (question, question.without(["backwards"])))
    assert told.formula.counts[RULE]
    assert not plain.formula.counts[RULE]
    layouts = {as_key(layout): layout for layout in models(told)}
    assert layouts
    assert layouts.keys() == {as_key(layout) for layout in models(plain)}
    assert read_by_models(told, layouts.values()) == read_by_models(plain, layouts.values())


def read_by_models(encoding: Encoding, layouts: Iterable[Layout]) -> list[list[bool]]:
    """Which values each layout may read in the models of a formula: each row's 1 and 0 in turn."""
    values = [
        encoding.formula.literal(value, row, "q")
        for row in range(encoding.question.spec.function.rows)
        for value in ("reads one", "reads zero")
    ]
    with Solver(name="glucose42", bootstrap_with=encoding.clauses) as solver:
        return [
            [solver.solve(assumptions=[*encoding.literals_of(layout), value]) for value in values]
            for layout in layouts
        ]


def test_where_it_is_told_forwards() -> None:
    question = Question(Spec.parse("q = a"), (2, 2, 2), 1)
    assert question.tells_backwards
    assert question.devices_alone(1)
    assert not question.devices_alone(0)
    free = Spec.parse("q = a").replace(function=BooleanFunction(("a",), {"q": "--"}))
    assert Question(free, (2, 2, 2), 1, free=FreeTable()).tells_backwards
    for other in (
        replace(question, delay=0),
        question.without(["backwards"]),
        question.without(["order"]),
        encode(question, goal=False).question,
    ):
        assert not other.tells_backwards
        assert not other.devices_alone(other.delay)


def test_wires_that_vouch_for_each_other_would_show(monkeypatch: pytest.MonkeyPatch) -> None:
    faces = {"input_faces": ["-x"], "output_faces": ["+x"]}
    spec = Spec.parse("q = ~a", joint="buffer", ground=True, **faces)
    question = Question(spec, (5, 1, 1), 1, break_symmetry=False)
    right = {as_key(layout) for layout in models(encode(question))}
    monkeypatch.setattr(Backwards, "next_wires_are_nearer", lambda *_: None)
    wrong = [layout for layout in models(encode(question)) if as_key(layout) not in right]
    assert wrong
    free = spec.replace(limits=Limits())
    assert not any(check(layout, free, delay=1).passes for layout in wrong)
