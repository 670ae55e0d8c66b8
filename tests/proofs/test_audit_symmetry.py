"""Symmetry breaking, checked on the clauses: right where it is right, and able to fail."""

from __future__ import annotations

from typing import Any

import pytest

from synth.encoding import Question, encode
from synth.encoding.geometry import Slot
from synth.encoding.statics import Statics
from synth.encoding.symmetry import Symmetry
from synth.medium import Size
from synth.proofs.symmetry_check import NotShown, check_symmetry
from synth.spec import Spec

QUESTIONS: list[tuple[str, dict[str, Any], Size, int, int]] = [
    ("q = a ^ b", {}, (2, 2, 2), 1, 4),
    ("q = a ^ b", {}, (3, 2, 2), 1, 3),
    ("q = a ^ b", {"stack": "y"}, (2, 2, 2), 1, 3),
    ("q = a ^ b", {"stack": "z", "joint": "buffer"}, (2, 2, 2), 1, 4),
    ("q = a ^ b", {"ground": True, "input_faces": ["-x"]}, (2, 2, 1), 2, 2),
    ("q = a & ~b", {"stack": "x", "pitch": 3}, (3, 1, 2), 1, 2),
    ("q = a & b & c", {"output_faces": ["+y"]}, (2, 2, 1), 1, 3),
    ("s = a ^ b; c = a & b", {"stack": "y"}, (1, 2, 2), 1, 3),
]
"""Function, what else is asked, box, delay, and how many symmetries give all others."""


@pytest.mark.parametrize(("text", "asked", "size", "delay", "count"), QUESTIONS)
@pytest.mark.parametrize("parts", [None, 3])
def test_formula_keeps_one_of_each_set(
    text: str, asked: dict[str, Any], size: Size, delay: int, count: int, parts: int | None
) -> None:
    question = Question(Spec.parse(text, **asked), size, delay, parts=parts)
    assert check_symmetry(encode(question)) == count


@pytest.mark.parametrize(
    "name", ["links", "first-tick", "last-tick", "backwards", "monotone", "known", "order"]
)
def test_formula_maps_to_itself_with_accelerations_left_out(name: str) -> None:
    question = Question(Spec.parse("q = a & b | ~c", stack="y"), (2, 2, 2), 2)
    assert check_symmetry(encode(question.without([name]))) == 3


def test_formula_that_prefers_a_place_is_not_shown(monkeypatch: pytest.MonkeyPatch) -> None:
    state = Statics.state

    def lopsided(self: Statics) -> None:
        state(self)
        self.formula.add("nothing in the corner", [-self.solid((0, 0, 0))])

    monkeypatch.setattr(Statics, "state", lopsided)
    encoding = encode(Question(Spec.parse("q = a ^ b", stack="y"), (2, 2, 2), 1))
    with pytest.raises(NotShown, match="does not map to itself"):
        check_symmetry(encoding)


def no_anchor(self: Symmetry) -> None:
    for slot in self.statics.slots["q"]:
        self.formula.add("no anchor", [-self.statics.pin("q", slot)])


def neither_order(self: Symmetry) -> None:
    first, second = self.statics.slots["a"][:2]
    for names in (("a", "b"), ("b", "a")):
        pins = [self.statics.pin(n, s) for n, s in zip(names, (first, second), strict=True)]
        self.formula.add("neither order", [-pin for pin in pins])


def more_than_pins(self: Symmetry) -> None:
    self.formula.add("no solid", [-self.statics.solid((0, 0, 0))])


def pin_that_no_exchange_moves(self: Symmetry) -> None:
    slot: Slot = self.statics.slots["c"][0]
    self.formula.add("not there", [-self.statics.pin("c", slot)])


@pytest.mark.parametrize(
    ("state", "said"),
    [
        (no_anchor, "no image of the anchor"),
        (neither_order, "are left no order"),
        (more_than_pins, "more than pins"),
        (pin_that_no_exchange_moves, "that no symmetry moves"),
    ],
)
def test_clauses_that_leave_out_too_much_are_not_shown(
    state: Any, said: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(Symmetry, "state", state)
    encoding = encode(Question(Spec.parse("q = (a ^ b) & ~c"), (2, 2, 1), 1))
    with pytest.raises(NotShown, match=said):
        check_symmetry(encoding)
