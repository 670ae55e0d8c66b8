"""The longest way without short cuts: held against every layout of tiny boxes, as the simulator
links them, and against random layouts with leads.
"""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from hypothesis import HealthCheck, given, settings

from synth.encoding import Question, encode
from synth.encoding.link_bound import MOST_CELLS, box_alone, longest_way
from synth.layout import Layout
from synth.medium import Cell, Joint, Part, Size
from synth.questions.cubes import narrowed, split
from synth.simulator.row import Row
from synth.simulator.touch import links
from synth.spec import Spec
from tests.encoding.agreement import spec_of
from tests.encoding.every_layout import every_legal_layout
from tests.reading.random_layouts import legal_layouts


def longest_in(layout: Layout) -> int:
    """Links of the longest way without short cuts in one layout."""
    row = Row(layout)
    wires = [cell for cell, block in layout.cells.items() if block.part is Part.WIRE]
    wires += [pin.outside for pin in layout.pins if pin.joint is Joint.WIRE]
    onward = {cell: {other for other, _, runs, _ in links(row, cell) if runs} for cell in wires}

    def lengths(way: list[Cell]) -> Iterator[int]:
        yield len(way) - 1
        for cell in onward[way[-1]] - set(way):
            if not any(cell in onward[earlier] for earlier in way[:-1]):
                yield from lengths([*way, cell])

    return max((length for cell in wires for length in lengths([cell])), default=0)


def alone(size: Size, ground: bool = False) -> Question:
    spec = Spec.parse("q = a", joint="buffer").replace(ground=ground)
    return Question(spec, size, 0)


@pytest.mark.parametrize(
    ("size", "ground"),
    [
        ((1, 1, 1), False),
        ((2, 2, 1), True),
        ((3, 1, 2), False),
        ((3, 1, 2), True),
        ((2, 1, 3), False),
    ],
)
def test_it_is_the_longest_of_every_layout(size: Size, ground: bool) -> None:
    longest = max(longest_in(layout) for layout in every_legal_layout(size, ground))
    assert longest_way(alone(size, ground)) == longest


@settings(max_examples=30, suppress_health_check=[HealthCheck.too_slow])
@given(layout=legal_layouts(max_size=(3, 2, 3)))
def test_no_layout_has_a_longer_one(layout: Layout) -> None:
    bound = longest_way(Question(spec_of(layout), layout.size, 0))
    assert bound is None or longest_in(layout) <= bound


@pytest.mark.parametrize(
    ("size", "joint", "stack", "links"),
    [
        ((3, 2, 4), "buffer", "y", 4),
        ((4, 2, 4), "buffer", "y", 6),
        ((4, 2, 5), "buffer", "y", 6),
        ((4, 2, 4), "wire", "y", 10),
        ((16, 1, 2), "buffer", None, None),
    ],
)
def test_bounds_of_known_boxes(size: Size, joint: str, stack: str | None, links: int) -> None:
    spec = Spec.parse("q = a & b", joint=joint, **({"stack": stack} if stack else {}))
    question = Question(spec, size, 2)
    rails = encode(question).rails
    assert rails.longest_way == longest_way(question) == links
    assert rails.exact == (links is not None)
    assert encode(question.without(["links"])).rails.longest_way is None


def test_a_large_box_is_not_asked_about() -> None:
    assert longest_way(alone((MOST_CELLS + 1, 1, 1))) is None


def test_cubes_share_the_bound_of_their_question() -> None:
    question = Question(Spec.parse("q = a & b", stack="y"), (2, 2, 2), 1)
    for cube in split(question):
        narrow = Question(narrowed(question.spec, cube), question.size, 1)
        assert box_alone(narrow) == box_alone(question)
