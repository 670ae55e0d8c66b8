"""What a claim needs, against the meaning of "smallest" spelled out layout by layout."""

from __future__ import annotations

from itertools import product

from hypothesis import given, settings
from hypothesis import strategies as st

from synth.medium import Size
from synth.questions.box import BoxQuestion
from synth.questions.cover import Claim, needs
from synth.questions.measures import MEASURES
from synth.questions.outcome import Status
from synth.questions.problem import Problem
from synth.spec import Limits, Spec

MOST_DELAY, MOST_PARTS = 3, 5


def vector(measures: tuple[str, ...], size: Size, delay: int, parts: int) -> tuple[int, ...]:
    """The measures of a layout of that size, delay and number of parts."""
    return tuple(
        parts if name == "parts" else BoxQuestion(size, delay).measure(name) for name in measures
    )


def within(limits: Limits, size: Size, delay: int, parts: int) -> bool:
    length, width, height = size
    own = {
        "length": length,
        "width": width,
        "height": height,
        "floor": length * width,
        "volume": length * width * height,
        "delay": delay,
        "parts": parts,
    }
    return all(
        getattr(limits, name) is None or value <= getattr(limits, name)
        for name, value in own.items()
    )


@st.composite
def claims(draw: st.DrawFn) -> Claim:
    """A claim about a function of one input, as if any layout of a box could be had."""
    side = st.integers(1, 3)
    limits = Limits(
        length=draw(side),
        width=draw(side),
        height=draw(side),
        volume=draw(st.none() | st.integers(1, 12)),
        floor=draw(st.none() | st.integers(1, 6)),
        parts=draw(st.none() | st.integers(0, MOST_PARTS)),
        delay=draw(st.integers(0, MOST_DELAY)),
    )
    axis = draw(st.sampled_from([None, "x", "y", "z"]))
    text = "q = a" if axis is None else "q = a & a"
    spec = Spec.parse(text, stack=axis).replace(limits=limits)
    measures = tuple(draw(st.lists(st.sampled_from(MEASURES), min_size=1, unique=True)))
    layouts = list(layouts_within(limits))
    if not layouts:
        return Claim(Status.IMPOSSIBLE, Problem(spec, measures), {})
    best = draw(st.sampled_from(layouts))
    values = dict(zip(measures, vector(measures, *best), strict=True))
    status = draw(st.sampled_from([Status.FOUND, Status.IMPOSSIBLE]))
    found = status is Status.FOUND
    return Claim(status, Problem(spec, measures), values if found else {})


def layouts_within(limits: Limits) -> list[tuple[Size, int, int]]:
    assert limits.length is not None
    assert limits.width is not None
    assert limits.height is not None
    every = product(
        product(
            range(1, limits.length + 1), range(1, limits.width + 1), range(1, limits.height + 1)
        ),
        range(MOST_DELAY + 1),
        range(MOST_PARTS + 1),
    )
    return [layout for layout in every if within(limits, *layout)]


@settings(max_examples=150)
@given(claims())
def test_what_comes_before_is_ruled_out_and_nothing_else(claim: Claim) -> None:
    """With every need answered no, no smaller layout is left; the one found and its equals are."""
    needed = needs(claim)
    assert len(set(needed)) == len(needed)
    value = tuple(claim.values.values())
    for size, delay, parts in layouts_within(claim.problem.spec.limits):
        # A layout that takes exactly this delay and so many parts.
        ruled_out = any(need.covers(BoxQuestion(size, delay, parts)) for need in needed)
        turned = (size[1], size[0], size[2])
        if claim.sides_exchange and within(claim.problem.spec.limits, turned, delay, parts):
            ruled_out |= any(need.covers(BoxQuestion(turned, delay, parts)) for need in needed)
        before = claim.status is Status.IMPOSSIBLE or (
            vector(claim.problem.measures, size, delay, parts) < value
        )
        assert ruled_out == before, (size, delay, parts)


def test_nothing_asks_for_boxes_that_copies_would_share() -> None:
    spec = Spec.parse("q = ~a", length=1, width=3, height=1, delay=0, stack="y", pitch=2)
    claim = Claim(Status.IMPOSSIBLE, Problem(spec, ("volume",)), {})
    assert [need.size for need in needs(claim)] == [(1, 1, 1), (1, 2, 1)]


def test_cells_named_one_by_one_leave_one_box() -> None:
    spec = Spec.parse("q = ~a", length=2, width=2, height=2, delay=1)
    spec = spec.replace(empty=frozenset({(0, 0, 0)}))
    claim = Claim(Status.IMPOSSIBLE, Problem(spec, ("volume",)), {})
    assert needs(claim) == [BoxQuestion((2, 2, 2), 1, None)]


def test_what_tells_x_from_y_keeps_both_orders_of_the_sides() -> None:
    spec = Spec.parse("q = ~a", length=2, width=2, height=1, delay=1)
    free = Claim(Status.IMPOSSIBLE, Problem(spec, ("volume",)), {})
    assert [need.size for need in needs(free)] == [(1, 1, 1), (2, 1, 1), (2, 2, 1)]
    asked = [
        spec.replace(pins=Spec.parse("q = ~a", input_faces=["-x"]).pins),
        Spec.parse("q = ~a", length=2, width=2, height=1, delay=1, stack="y"),
    ]
    for other in asked:
        told = Claim(Status.IMPOSSIBLE, Problem(other, ("volume",)), {})
        assert len(needs(told)) == 4
    assert len(needs(Claim(Status.IMPOSSIBLE, Problem(spec, ("width",)), {}))) == 4


def test_an_undecided_search_needs_nothing() -> None:
    spec = Spec.parse("q = ~a", length=2, width=2, height=2, delay=1)
    assert needs(Claim(Status.UNDECIDED, Problem(spec, ("volume",)), {})) == []
