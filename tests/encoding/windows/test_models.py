"""With nothing fixed a window has the models of the whole question, else those that agree.

The whole question is held against the simulator elsewhere (``test_every_layout``).
"""

from __future__ import annotations

import random

import pytest

from synth.encoding import Question, encode
from synth.encoding.windows import encode_window, labels_of, promises_of
from synth.layout import Layout
from synth.medium import Direction, Role
from synth.spec import BooleanFunction, PinDemand, Spec, StackDemand
from tests.encoding.every_layout import as_key, models
from tests.encoding.test_every_layout import CASES, STACKS, Case
from tests.encoding.windows import cutting


def asked_of(case: Case) -> list[Question]:
    rows = 1 << case.inputs
    columns = ["01", "10", "1-"] if rows == 2 else ["0111", "1000", "0110", "0-01"]
    return [
        Question(case.spec(column), case.size, delay, break_symmetry=False)
        for column in columns
        for delay in case.delays
    ]


def stacked(number: int) -> list[Question]:
    size, axis, pitch, joints, places = STACKS[number]
    asks = {
        name: PinDemand((Direction(face),), cell, joints[name])
        for name, (cell, face) in places.items()
    }
    return [
        Question(
            Spec(BooleanFunction(("a",), {"q": column}), pins=asks, stack=StackDemand(axis, pitch)),
            size,
            1,
            break_symmetry=False,
        )
        for column in ("01", "10")
    ]


QUESTIONS = [
    *(pytest.param(asked_of(case), id=str(case)) for case in CASES),
    # The first is too large to list its models.
    *(pytest.param(stacked(number), id=f"stack-{number}") for number in range(1, len(STACKS))),
]


@pytest.mark.parametrize("questions", QUESTIONS)
def test_with_nothing_fixed_it_has_the_models_of_the_whole_question(
    questions: list[Question],
) -> None:
    for question in questions:
        whole = [as_key(layout) for layout in models(encode(question))]
        window = encode_window(cutting.all_free(question))
        found = [as_key(layout) for layout in cutting.models(window)]
        assert len(found) == len(set(found))
        assert set(found) == set(whole)


@pytest.mark.parametrize("questions", QUESTIONS)
def test_with_some_cells_fixed_it_has_the_models_that_agree_there(
    questions: list[Question],
) -> None:
    """And with promises some of these, among them the layout that the window was cut into."""
    generator = random.Random(7)
    for question in questions:
        whole = {as_key(layout): layout for layout in models(encode(question))}
        if not whole:
            continue
        for base in generator.sample(list(whole.values()), min(3, len(whole))):
            cells = question.geometry.cells
            free = set(generator.sample(cells, generator.randint(1, len(cells))))
            spec, delay = question.spec, question.delay
            right = {key for key, layout in whole.items() if agrees(layout, base, free)}
            window = cutting.cut(base, spec, delay, free)
            found = {as_key(layout) for layout in cutting.models(encode_window(window))}
            assert found == right
            promises = promises_of(base, spec, delay)
            window = cutting.cut(base, spec, delay, free, promises)
            kept = {as_key(layout) for layout in cutting.models(encode_window(window))}
            assert as_key(base) in kept
            assert kept <= right
            labels = labels_of(base, spec, delay)
            window = cutting.cut(base, spec, delay, free, labels=labels)
            placed = {as_key(layout) for layout in cutting.models(encode_window(window))}
            assert placed <= right


def agrees(layout: Layout, base: Layout, free: set[tuple[int, int, int]]) -> bool:
    """Whether a layout differs from another in free cells only, clear and ledge taken as one."""
    plain = [
        (
            {c: b for c, b in as_key(one)[0] if c not in free},  # type: ignore[attr-defined]
            {(pin.name, pin.at, pin.face) for pin in one.pins},
        )
        for one in (layout, base)
    ]
    return plain[0] == plain[1]


def test_roles_of_pins_are_those_of_the_question() -> None:
    (question,) = asked_of(CASES[3])[:1]
    layout = next(cutting.models(encode_window(cutting.all_free(question))))
    assert {pin.name: pin.role for pin in layout.pins} == {"a": Role.INPUT, "q": Role.OUTPUT}
