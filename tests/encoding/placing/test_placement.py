"""Structure first: what it places is right, and where it places nothing it says no more."""

from __future__ import annotations

from itertools import product

import pytest
from pysat.solvers import Solver

from synth.encoding import Question, encode
from synth.encoding.decode import literals_of
from synth.encoding.placing.placement import Placement, encode_placement
from synth.encoding.placing.signals import Origin, Passing, Signal, Signals, with_repeats
from synth.layout import Layout
from synth.medium import Direction, Part, Size
from synth.simulator import check
from synth.spec import Spec


def inputs_of(spec: Spec) -> list[Signal]:
    names = spec.function.inputs
    return [
        Signal(
            name,
            sum(
                1 << row for row in range(spec.function.rows) if row >> (len(names) - 1 - index) & 1
            ),
            0,
            Origin.INPUT,
        )
        for index, name in enumerate(names)
    ]


def every_function(spec: Spec, delay: int) -> Signals:
    """Every function of the inputs at every tick that an inverter or buffer could make it."""
    every = (1 << spec.function.rows) - 1
    inverted = [
        Signal(f"f{rows}t{tick}", rows, tick, Origin.INVERTER)
        for rows in range(1, every)
        for tick in range(1, delay + 1)
    ]
    repeated = [
        Signal(f"g{rows}t{tick}", rows, tick, Origin.BUFFER)
        for rows in range(1, every)
        for tick in range(1, delay + 1)
    ]
    return Signals((*inputs_of(spec), *inverted, *repeated))


def models(placement: Placement, most: int) -> list[Layout]:
    """Different layouts that a formula describes, up to so many."""
    choices = placement.statics.choices()
    found = []
    with Solver(name="cadical195", bootstrap_with=placement.clauses) as solver:
        while len(found) < most and solver.solve():
            true = {literal for literal in solver.get_model() if literal > 0}
            found.append(placement.decode(true))
            solver.add_clause([-one if one in true else one for one in choices])
    return found


def has_layout(question: Question) -> bool:
    with Solver(name="cadical195", bootstrap_with=encode(question).clauses) as solver:
        return bool(solver.solve())


CASES = [
    ("q = ~a", (2, 1, 2), 1),
    ("q = ~(a | b)", (1, 2, 3), 1),
    ("q = a | b", (2, 1, 3), 1),
    ("q = a & ~b", (2, 2, 3), 2),
    ("q = a & b", (2, 2, 3), 2),
    ("p = ~a; q = a", (2, 2, 2), 1),
]


@pytest.mark.parametrize("joint", ["wire", "buffer"])
@pytest.mark.parametrize("stack", [None, "y"])
@pytest.mark.parametrize(("text", "size", "delay"), CASES)
def test_every_layout_placed_passes_the_simulator(
    text: str, size: Size, delay: int, stack: str | None, joint: str
) -> None:
    spec = Spec.parse(text, stack=stack, joint=joint)
    question = Question(spec, size, delay, break_symmetry=False)
    placement = encode_placement(question, every_function(spec, delay))
    for layout in models(placement, 30):
        verdict = check(layout, spec, delay=delay)
        assert verdict.passes, (layout.document(), verdict.faults)


@pytest.mark.parametrize("joint", ["wire", "buffer"])
@pytest.mark.parametrize(
    ("text", "delay"), [("q = ~a", 1), ("q = ~(a | b)", 1), ("q = a | b", 0), ("q = a & ~b", 2)]
)
def test_with_every_signal_it_finds_a_layout_where_there_is_one(
    text: str, delay: int, joint: str
) -> None:
    """Not so in every box by its rules, since layouts with parts of no use are left out; in
    these, smallest ones included, it is.
    """
    spec = Spec.parse(text, stack="y", joint=joint)
    found = 0
    for size in product((1, 2), (2,), (1, 2, 3)):
        question = Question(spec, size, delay)
        placement = encode_placement(question, every_function(spec, delay))
        placed = bool(models(placement, 1))
        assert placed == has_layout(question), size
        found += placed
    assert found


def test_a_buffer_that_sees_nothing_is_left_out() -> None:
    """It would be unknown at tick 0, and what it powers with it."""
    spec = Spec.parse("q = a")
    question = Question(spec, (4, 1, 2), 1, break_symmetry=False)
    placement = encode_placement(question, every_function(spec, 1))
    # The buffer at the far end has nothing behind it, and no pin may take its place there.
    idle = placement.statics.buffer((1, 0, 1), Direction.PX)
    behind = [
        -placement.statics.wire((0, 0, 1)),
        -placement.statics.solid((0, 0, 1)),
        -placement.statics.any_inverter((0, 0, 1)),
        -placement.statics.buffer((0, 0, 1), Direction.PX),
    ]
    with Solver(name="cadical195", bootstrap_with=placement.clauses) as solver:
        assert solver.solve(assumptions=[idle])
        assert not solver.solve(assumptions=[idle, *behind])


def test_a_layout_known_to_be_right_is_a_model() -> None:
    """The smallest exclusive-or of the whole question is one for the placement too."""
    spec = Spec.parse("q = a & ~b", stack="y")
    size, delay = (2, 2, 3), 2
    question = Question(spec, size, delay)
    with Solver(name="cadical195", bootstrap_with=encode(question).clauses) as solver:
        assert solver.solve()
        layout = encode(question).decode(solver.get_model())
    placement = encode_placement(question, every_function(spec, delay))
    fixed = literals_of(question, placement.statics, layout)
    with Solver(name="cadical195", bootstrap_with=placement.clauses) as solver:
        placed = solver.solve(assumptions=fixed)
    # A part of no use may keep it out; then taking such parts away lets it in.
    if not placed:
        from synth.search.workers.tidy import tidy

        tidied, _ = tidy(layout, spec, delay=delay)
        fixed = literals_of(question, placement.statics, tidied)
        with Solver(name="cadical195", bootstrap_with=placement.clauses) as solver:
            assert solver.solve(assumptions=fixed)


def test_repeats_leave_time_for_what_they_repeat() -> None:
    signals = [Signal("a", 2, 0, Origin.INPUT), Signal("n", 1, 1, Origin.INVERTER)]
    repeated = with_repeats(signals, 2, latest=0)
    assert [(item.name, item.tick) for item in repeated[2:]] == [("a'", 1)]
    assert len(with_repeats(signals, 1)) == 3
    assert len(with_repeats(signals, 2)) == 4


@pytest.mark.parametrize("joint", ["wire", "buffer"])
@pytest.mark.parametrize(
    ("named", "by_buffer"), [(("a",), {False}), (("a'",), {True}), (("b",), set())]
)
def test_nothing_passes_a_pin_but_what_is_named(
    named: tuple[str, ...], by_buffer: set[bool], joint: str
) -> None:
    spec = Spec.parse("q = a", joint=joint, input_faces="-x", output_faces="+x")
    question = Question(spec, (3, 1, 2), 1, break_symmetry=False)
    signals = Signals(tuple(with_repeats(inputs_of(spec), 1)))
    placement = encode_placement(question, signals, passing=[Passing("q", named)])
    found = {
        any(block.part is Part.BUFFER for block in layout.cells.values())
        for layout in models(placement, 40)
    }
    assert found == by_buffer
