"""A free truth table: what its models compute is what all legal layouts of tiny boxes compute."""

from __future__ import annotations

from dataclasses import replace
from itertools import product

import pytest
from pysat.solvers import Solver

from synth.encoding import Question, encode
from synth.encoding.free_goal import FreeGoal
from synth.encoding.free_table import FreeTable
from synth.medium import Joint
from synth.proofs.symmetry_check import check_symmetry
from synth.spec import PinDemand, Spec, StackDemand
from synth.spec.classes import Columns, members
from tests.encoding.tiny_boxes import (
    BOXES,
    Box,
    classes_of_layouts,
    fits,
    layouts_and_what_they_read,
    read_by_layouts,
)


def found_by_models(question: Question) -> list[Columns]:
    """One function of each class, as the solver comes across them, each then forbidden."""
    encoding = encode(question)
    goal = encoding.goal
    assert isinstance(goal, FreeGoal)
    found = []
    with Solver(name="glucose42", bootstrap_with=encoding.clauses) as solver:
        while solver.solve():
            found.append(goal.computed(solver.get_model()))
            for clause in goal.forbidding(found[-1]):
                solver.add_clause(clause)
    return found


@pytest.mark.parametrize("matters", [True, False])
@pytest.mark.parametrize("box", BOXES, ids=str)
def test_the_functions_found_are_those_of_the_layouts(box: Box, matters: bool) -> None:
    classes = classes_of_layouts(box, matters=matters)
    found = found_by_models(box.question(FreeTable(every_input_matters=matters)))
    assert sorted(members(columns)[0] for columns in found) == sorted(classes)


@pytest.mark.parametrize("without", [[], ["backwards"]], ids=str)
@pytest.mark.parametrize(
    "box",
    [BOXES[3], Box((1, 1, 2), 2, Joint.BUFFER, inputs=2, ground=True, faces=("-x", "+x", "+y"))],
    ids=str,
)
def test_each_layout_computes_what_it_reads_and_nothing_else(box: Box, without: list[str]) -> None:
    question = box.question(FreeTable(every_input_matters=False))
    encoding = encode(question.without(["symmetry", *without]))
    goal = encoding.goal
    assert isinstance(goal, FreeGoal)
    settled = set()
    with Solver(name="glucose42", bootstrap_with=encoding.clauses) as solver:
        for layout, read in layouts_and_what_they_read(box):
            has_model = solver.solve(assumptions=encoding.literals_of(layout))
            assert has_model == ("x" not in "".join(read))
            if has_model:
                assert goal.computed(solver.get_model()) == read
            settled.add(has_model)
    assert True in settled


@pytest.mark.parametrize("box", BOXES, ids=str)
def test_what_is_sought_is_found_where_a_layout_has_it(box: Box) -> None:
    """Of each class of columns with don't cares, some layout reads a member or none does."""
    columns = product(map("".join, product("01-", repeat=1 << box.inputs)), repeat=box.outputs)
    sought = sorted({members(one)[0] for one in columns})
    encoding = encode(box.question(FreeTable(sought=tuple(sought))))
    with Solver(name="glucose42", bootstrap_with=encoding.clauses) as solver:
        for one in sought:
            asked = [encoding.formula.literal("computes", member) for member in members(one)]
            found = any(solver.solve(assumptions=[literal]) for literal in asked)
            assert found == any(
                fits(read, member) for read in read_by_layouts(box) for member in members(one)
            ), one


def test_a_class_found_is_not_found_again() -> None:
    box = BOXES[4]
    every = found_by_models(box.question(FreeTable()))
    assert len(every) > 1
    for found in every:
        left = found_by_models(box.question(FreeTable(forbidden=(found,))))
        assert sorted(members(one)[0] for one in left) == sorted(
            members(one)[0] for one in every if one != found
        )


def test_of_those_sought_only_what_is_not_decided_is_found() -> None:
    sought = (("10",), ("-1",), ("0-",))
    question = BOXES[1].question(FreeTable(sought=sought))
    assert found_by_models(question)
    free = FreeTable(sought=sought, forbidden=sought)
    assert not found_by_models(replace(question, free=free))


@pytest.mark.parametrize(
    "free",
    [
        FreeTable(forbidden=(("0001",),)),
        FreeTable(sought=(("0001",), ("01-1",)), forbidden=(("01-1",),)),
        FreeTable(every_input_matters=False),
    ],
    ids=["forbidden", "sought", "every one"],
)
@pytest.mark.parametrize("stack", [None, StackDemand("y")])
@pytest.mark.parametrize(("joint", "delay"), [(Joint.WIRE, 1), (Joint.BUFFER, 2)])
def test_symmetries_map_a_free_formula_to_itself(
    free: FreeTable, stack: StackDemand | None, joint: Joint, delay: int
) -> None:
    box = Box((2, 2, 1), delay, joint, inputs=2, ground=True, faces=("-x", "+x"))
    question = box.question(free)
    spec = question.spec.replace(stack=stack)
    assert check_symmetry(encode(replace(question, spec=spec))) >= 2


def test_a_free_table_wants_no_values_and_pins_asked_alike() -> None:
    with pytest.raises(ValueError, match="asks for values"):
        Question(Spec.parse("q = a & b"), (1, 1, 1), 1, free=FreeTable())
    asked = BOXES[4].question(FreeTable()).spec
    uneven = asked.replace(pins={**asked.pins, "a": PinDemand(joint=Joint.WIRE)})
    with pytest.raises(ValueError, match="not asked alike"):
        Question(uneven, (1, 1, 1), 1, free=FreeTable())
