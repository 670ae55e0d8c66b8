"""What leads to an output is said once, and no layout is lost or gained by it."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from synth.encoding import Question, encode
from synth.encoding.backwards import RULE, Backwards
from synth.encoding.free_table import FreeTable
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


def test_where_it_is_told_forwards() -> None:
    question = Question(Spec.parse("q = a"), (2, 2, 2), 1)
    assert question.tells_backwards
    assert question.devices_alone(1)
    assert not question.devices_alone(0)
    free = Spec.parse("q = a").replace(function=BooleanFunction(("a",), {"q": "--"}))
    for other in (
        replace(question, delay=0),
        question.without(["backwards"]),
        question.without(["order"]),
        Question(free, (2, 2, 2), 1, free=FreeTable()),
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
