"""What was in force, in words: no limit of a problem is left out."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import fields, replace

import pytest

from synth.medium import LEDGE, SOLID, ChainLink, Direction, Joint, Rules
from synth.questions.cover import Claim
from synth.questions.in_force import MOST_CELLS, limits_text, medium_text, stated
from synth.questions.outcome import Status
from synth.questions.problem import Problem
from synth.spec import Limits, PinDemand, Spec, StackDemand
from synth.spec.targets import load_target

BASE = Spec.parse("q = a ^ b", length=4, width=2, height=4, delay=2)

CHANGES: dict[str, tuple[Callable[[Spec], Spec], str]] = {
    **{
        f"limit {item.name}": (
            lambda spec, name=item.name: spec.replace(limits=replace(spec.limits, **{name: 3})),  # type: ignore[misc]
            f"{item.name.replace('_', ' ')} at most 3",
        )
        for item in fields(Limits)
    },
    "stack": (
        lambda spec: spec.replace(stack=StackDemand("y")),
        "stacking along y at the box's own size",
    ),
    "pitch": (lambda spec: spec.replace(stack=StackDemand("y", 3)), "stacking along y at pitch 3"),
    "chain": (
        lambda spec: spec.replace(stack=StackDemand("y", chain=(ChainLink("q", "b"),))),
        "chained from q to the next b",
    ),
    "ground": (lambda spec: spec.replace(ground=True), "on ground"),
    "faces of all": (
        lambda spec: spec.replace(
            pins=dict.fromkeys("ab", PinDemand(faces=(Direction.NX,)))
            | {"q": PinDemand(faces=(Direction.PX, Direction.PY))}
        ),
        "inputs on face -x, output q on faces +x or +y",
    ),
    "face of one": (
        lambda spec: spec.replace(pins={"b": PinDemand(faces=(Direction.NX,))}),
        "input b on face -x",
    ),
    "cell of a pin": (
        lambda spec: spec.replace(pins={"b": PinDemand(at=(0, 1, 2))}),
        "input b at cell (0,1,2)",
    ),
    "joint of all": (
        lambda spec: spec.replace(pins=dict.fromkeys("abq", PinDemand(joint=Joint.BUFFER))),
        "buffer joints",
    ),
    "joint of one": (
        lambda spec: spec.replace(pins={"q": PinDemand(joint=Joint.BUFFER)}),
        "a wire joint at a and b, a buffer joint at q",
    ),
    "empty": (
        lambda spec: spec.replace(empty=frozenset({(0, 0, 3), (1, 0, 3)})),
        "cells (0,0,3) and (1,0,3) kept empty",
    ),
    "fixed": (
        lambda spec: spec.replace(fixed={(0, 0, 0): SOLID, (1, 0, 0): LEDGE}),
        "cell (0,0,0) kept as solid, cell (1,0,0) kept as ledge",
    ),
}


@pytest.mark.parametrize("name", CHANGES)
def test_every_limit_stands_in_the_words(name: str) -> None:
    change, words = CHANGES[name]
    problem = Problem(change(BASE))
    assert words in limits_text(problem)
    assert limits_text(problem) != limits_text(Problem(BASE))
    for status in (Status.IMPOSSIBLE, Status.UNDECIDED, Status.FOUND):
        assert words in Claim(status, problem, {"volume": 32}).text()


def test_defaults_of_the_search_stand_in_the_words_too() -> None:
    assert limits_text(Problem(BASE)) == (
        "length at most 4, width at most 2, height at most 4, delay at most 2, wire joints, "
        "without ground"
    )
    rules = Rules(reach=3, buffer_delays=(2,))
    text = Claim(Status.IMPOSSIBLE, Problem(BASE, rules=rules), {}).text()
    assert "reach 3 and buffer delays 2" in text
    stacked = Problem(BASE.replace(stack=StackDemand("y")))
    assert medium_text(stacked).endswith("no copy leans on another")


def test_many_cells_are_counted() -> None:
    cells = frozenset((x, 0, z) for x in range(4) for z in range(MOST_CELLS))
    assert f"{len(cells)} cells kept empty" in limits_text(Problem(BASE.replace(empty=cells)))


def test_what_a_specification_states_leaves_defaults_out() -> None:
    assert stated(Spec.parse("q = a")) == []
    assert stated(load_target("xor2-stack")) == [
        "width at most 2",
        "delay at most 2",
        "stacking along y at the box's own size",
        "inputs on face -x",
        "output q on face +x",
    ]
    assert stated(Spec.parse("q = a", joint="wire", ground=True)) == ["wire joints", "on ground"]
