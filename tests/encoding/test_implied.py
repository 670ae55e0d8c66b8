"""What is said outright holds in every exact play: no right layout is lost by it."""

from __future__ import annotations

from pathlib import Path

import pytest
from pysat.solvers import Solver

from synth.encoding import Question, encode
from synth.layout import Layout
from synth.library import Store
from synth.library.entry import Entry
from synth.medium import Size
from synth.simulator import check
from synth.spec import BooleanFunction, Spec, StackDemand
from tests.encoding.agreement import spec_of
from tests.encoding.every_layout import named_models

SHAPING = (
    "compared",
    "monotone",
    "known",
    "links",
    "first-tick",
    "last-tick",
    "backwards",
    "order",
)
"""The accelerations that shape a formula and leave all its layouts."""

ROOT = Path(__file__).parents[2]
XOR = ROOT / "tests" / "data" / "xor2.json"
PARITY = ROOT / "benchmarks" / "records" / "parity_layout.json"
STORE = ROOT / "benchmarks" / "demo_library.sqlite"


def question_of(layout: Layout) -> Question:
    """Whether there is a layout with the pins, the box, the stacking and the speed of this one."""
    verdict = check(layout)
    assert verdict.delay is not None
    assert verdict.outputs is not None
    function = BooleanFunction(tuple(pin.name for pin in layout.inputs), verdict.outputs)
    stack = layout.stack and StackDemand(layout.stack.axis, layout.stack.pitch)
    spec = spec_of(layout).replace(function=function, stack=stack, fixed={})
    return Question(spec, layout.size, verdict.delay, break_symmetry=False)


def kept_layouts() -> list[Layout]:
    """Layouts of one to three inputs, one of each delay, stacking and joints that occur.

    The largest up to 20 cells, or else the smallest: formulas of larger boxes take long to write.
    """
    chosen: dict[tuple[object, ...], Entry] = {}
    with Store.copy_of(STORE) as store:
        for entry in sorted(store.entries(), key=lambda entry: entry.volume or 0):
            kind = (entry.delay, entry.stack, entry.joints)
            if entry.volume is not None and (entry.volume <= 20 or kind not in chosen):
                chosen[kind] = entry
        found = [store.layout(entry.number) for entry in chosen.values()]
    return [Layout.load(XOR), Layout.load(PARITY), *found]


def test_right_layouts_are_models() -> None:
    layouts = kept_layouts()
    assert len(layouts) >= 20
    assert {layout.stack is None for layout in layouts} == {True, False}
    for layout in layouts:
        encoding = encode(question_of(layout))
        with Solver(name="cadical195", bootstrap_with=encoding.clauses) as solver:
            assert solver.solve(assumptions=encoding.literals_of(layout)), layout.document()


@pytest.mark.parametrize(
    ("text", "size", "delay", "stack"),
    [
        ("q = ~(a | b)", (1, 2, 3), 1, "y"),
        ("q = a & ~b", (2, 2, 2), 2, "y"),
        ("q = ~a", (2, 1, 2), 2, "z"),
        ("q = a | b", (3, 1, 2), 1, None),
        ("q = ~a | b", (2, 1, 3), 1, None),
    ],
)
def test_the_layouts_are_the_same_without(
    text: str, size: Size, delay: int, stack: str | None
) -> None:
    question = Question(
        Spec.parse(text, stack=stack, joint="buffer" if stack else "wire"), size, delay
    )
    full = set(named_models(encode(question)))
    assert full
    for names in (*((name,) for name in SHAPING), SHAPING):
        assert full == set(named_models(encode(question.without(names))))


def test_plays_are_compared_in_words() -> None:
    """The clauses are there when asked for, and only then."""
    rules = {
        "more inputs power more",
        "more inputs leave fewer inverters on",
        "more inputs turn on more buffers",
        "the neighbour has less surely on",
        "the neighbour has more possibly on",
    }
    question = Question(Spec.parse("q = a & b", stack="y"), (2, 2, 3), 2)
    spoken = set(encode(question).formula.counts)
    assert rules - spoken == {"more inputs power more"}, "that goes without saying"
    assert rules <= set(encode(question.without(["first-tick"])).formula.counts)
    assert not rules & set(encode(question.without(["compared"])).formula.counts)
