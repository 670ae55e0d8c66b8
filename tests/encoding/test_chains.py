"""Chains in tiny boxes: the models of the formula are exactly the slices that are judged right."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import product

import pytest

from synth.encoding import Question, encode
from synth.layout import Layout, Pin, Stack
from synth.medium import ChainLink, Direction, Joint, Role, Size
from synth.simulator import check, legality
from synth.spec import BooleanFunction, Limits, PinDemand, Spec, StackDemand
from tests.encoding.every_layout import as_key, every_legal_layout, held, models
from tests.encoding.test_every_layout import columns, fits, with_dont_care

CHAIN = (ChainLink("co", "ci"),)


@dataclass(frozen=True)
class Case:
    """A tiny box along ``axis``; ``a`` sits at one place, the link at every height."""

    size: Size
    axis: str
    a: tuple[tuple[int, int, int], str] | None
    asked: tuple[tuple[int, int | None], ...]
    ground: bool = False

    @property
    def inputs(self) -> tuple[str, ...]:
        return ("a", "ci") if self.a else ("ci",)

    def spec(self, column: str, link_delay: int | None) -> Spec:
        asks = {} if self.a is None else {"a": PinDemand((Direction(self.a[1]),), self.a[0])}
        return Spec(
            BooleanFunction(self.inputs, {"co": column}),
            limits=Limits(link_delay=link_delay),
            pins=asks,
            stack=StackDemand(self.axis, chain=CHAIN),
            ground=self.ground,
        )

    def pins(self) -> list[tuple[Pin, ...]]:
        index = "xyz".index(self.axis)
        across = product(*(range(side) for axis, side in enumerate(self.size) if axis != index))
        found = []
        for cells in across:
            start = (*cells[:index], 0, *cells[index:])
            end = (*cells[:index], self.size[index] - 1, *cells[index:])
            pins = [
                Pin("ci", Role.INPUT, start, Direction(f"-{self.axis}"), Joint.BUFFER),
                Pin("co", Role.OUTPUT, end, Direction(f"+{self.axis}"), Joint.BUFFER),
            ]
            if self.a is not None:
                pins.insert(0, Pin("a", Role.INPUT, self.a[0], Direction(self.a[1])))
            found.append(tuple(pins))
        return found

    def layouts(self) -> list[Layout]:
        stack = Stack(self.axis, self.size["xyz".index(self.axis)], CHAIN)
        return [
            bare.replace(pins=pins, stack=stack)
            for bare in every_legal_layout(self.size, self.ground)
            for pins in self.pins()
        ]


CASES = [
    Case((1, 1, 2), "y", None, ((0, None), (1, None), (2, 1), (2, 0))),
    Case((1, 2, 2), "y", ((0, 0, 1), "-x"), ((2, 1), (2, 0), (2, None))),
    Case((2, 1, 2), "x", ((1, 0, 0), "+y"), ((1, None),)),
    Case((2, 2, 1), "x", ((0, 1, 0), "+y"), ((2, 1),), ground=True),
]


@pytest.mark.parametrize("case", CASES, ids=str)
def test_the_models_are_the_right_slices(case: Case) -> None:
    rows = 1 << len(case.inputs)
    judged = []
    for layout in case.layouts():
        if held(layout) or legality(layout):
            continue
        verdict = check(layout)
        # Values and delays are those of the layout alone; whether they hold in rows comes below.
        if verdict.outputs is not None and not verdict.fed_back:
            judged.append((layout, verdict.outputs["co"]))
    for delay, link_delay in case.asked:
        open_ones = with_dont_care(rows) if delay == case.asked[0][0] else []
        for column in (*columns(rows), *open_ones):
            spec = case.spec(column, link_delay)
            right = {
                as_key(layout)
                for layout, settled in judged
                if fits(settled, column) and check(layout, spec, delay=delay).passes
            }
            question = Question(spec, case.size, delay, break_symmetry=False)
            found = [as_key(layout) for layout in models(encode(question))]
            assert len(found) == len(set(found))
            assert set(found) == right, (delay, link_delay, column)
