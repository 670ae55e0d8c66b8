"""Answers are gathered by function, whatever the order of inputs and whatever was asked."""

from __future__ import annotations

from dataclasses import replace

from hypothesis import given
from hypothesis import strategies as st

from synth.library import Entry
from synth.library.canonical import function_key
from synth.questions.outcome import Status
from synth.spec import BooleanFunction
from synth.views.catalogue import Gate, Item, gates_of

ENTRY = Entry(
    number=1,
    key="",
    function_key="",
    name="",
    inputs=2,
    outputs=1,
    function="",
    table="0001",
    stack="",
    joints="wire",
    minimize=("volume",),
    delay_asked=2,
    status=Status.IMPOSSIBLE,
    proven=True,
    length=None,
    width=None,
    height=None,
    volume=None,
    floor=None,
    parts=None,
    delay=None,
    bound=None,
    proof=None,
    solver="",
    seed=0,
    seconds=0.0,
    version="",
    made="",
)


def item(function: BooleanFunction, number: int, name: str = "") -> Item:
    entry = replace(
        ENTRY,
        number=number,
        name=name,
        inputs=len(function.inputs),
        outputs=len(function.outputs),
        table=" ".join(function.outputs.values()),
        function_key=function_key(function),
    )
    return Item(entry, None, "")


FUNCTIONS = st.integers(1, 3).flatmap(
    lambda inputs: st.lists(
        st.text("01-", min_size=1 << inputs, max_size=1 << inputs), min_size=1, max_size=2
    ).map(
        lambda columns: BooleanFunction(
            tuple(f"x{n + 1}" for n in range(inputs)),
            {f"y{n + 1}": column for n, column in enumerate(columns)},
        )
    )
)


@given(FUNCTIONS, st.data())
def test_the_order_of_inputs_makes_no_other_gate(function: BooleanFunction, data: st.DataObject):
    order = data.draw(st.permutations(range(len(function.inputs))))
    one, other = item(function, 1), item(function.permuted(tuple(order)), 2)
    (gate,) = gates_of([one, other])
    (again,) = gates_of([other, one])
    assert {i.number for i in gate.items} == {1, 2}
    assert (gate.columns, gate.slug, gate.expressions) == (
        again.columns,
        again.slug,
        again.expressions,
    )


@given(FUNCTIONS, FUNCTIONS)
def test_other_functions_are_other_gates_with_other_files(
    one: BooleanFunction, other: BooleanFunction
):
    gates = gates_of([item(one, 1), item(other, 2)])
    same = function_key(one) == function_key(other)
    assert len(gates) == (1 if same else 2)
    assert len({gate.slug for gate in gates}) == len(gates)


@given(FUNCTIONS)
def test_file_names_are_safe_everywhere(function: BooleanFunction):
    (gate,) = gates_of([item(function, 1)])
    assert set(gate.slug) <= set("0123456789abcdefx_-")
    assert len(gate.slug) < 60


def test_the_name_most_used_is_the_title() -> None:
    conj = BooleanFunction(("x1", "x2"), {"y1": "0001"})
    named = ["and2", "and2-stack", "both", ""]
    (gate,) = gates_of([item(conj, n, name) for n, name in enumerate(named)])
    assert gate.title == "and2"
    assert gate.names == ("and2", "both")
    (nameless,) = gates_of([item(conj, 1)])
    assert nameless.title == "and2"
    other = BooleanFunction(("x1", "x2", "x3"), {"y1": "00000110"})
    (unknown,) = gates_of([item(other, 1)])
    assert unknown.title == unknown.expressions[0].removeprefix("y1 = ")
    assert unknown.lines == ()
    first = BooleanFunction(("x1", "x2"), {"y1": "0011"})
    (idle,) = gates_of([item(first, 1)])
    assert idle.title.endswith("(2 inputs)")
    both = BooleanFunction(("x1", "x2"), {"y1": "0001", "y2": "0111"})
    (pair,) = gates_of([item(both, 1)])
    assert pair.title == "x1 & x2, and 1 more"
    assert pair.lines == ("y1 = x1 & x2", "y2 = x1 | x2")


def test_questions_with_answers_no_different_are_shown_once(gates: list[Gate]) -> None:
    (either,) = (gate for gate in gates if gate.title == "or2")
    assert len(either.items) == 4
    free, stacked = either.layouts
    assert (free.entry.stack, stacked.entry.stack) == ("", "y")
    assert free.entry.delay_asked == 2
    assert {i.entry.delay_asked for i in either.alike[free.number]} == {0, 1, 2}
    shown = [number for group in either.alike.values() for number in (i.number for i in group)]
    assert sorted(shown) == sorted(i.number for i in either.items)


def test_the_face_of_a_gate_is_its_smallest_layout(gates: list[Gate]) -> None:
    for gate in gates:
        volumes = [i.entry.volume for i in gate.items if i.entry.volume is not None]
        assert (gate.face is None) == (not volumes)
        if gate.face is not None:
            assert gate.face.entry.volume == min(volumes)
