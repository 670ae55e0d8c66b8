"""Layouts found for other questions that do what is asked."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from synth.layout import Layout
from synth.layout.transform import ALL_SYMMETRIES, IDENTITY, Symmetry
from synth.library import Canonical, Store
from synth.library.answer import Answer
from synth.library.canonical import reordered
from synth.library.similar import Match, implied, matches
from synth.medium import LEVEL_DIRECTIONS, Direction, Joint, Rules
from synth.questions.outcome import Outcome, Status
from synth.questions.problem import Problem
from synth.simulator import check
from synth.spec import BooleanFunction, Limits, PinDemand, Spec, StackDemand
from synth.spec.demands import with_limits
from synth.spec.targets import load_target
from tests.library.answers import VOLUME, best_so_far, found, impossible, pins_asked, solved

RECORDS = Path(__file__).parents[2] / "benchmarks" / "records"


def found_for(spec: Spec, *kept: tuple[Spec, Outcome]) -> list[Match]:
    with Store(":memory:") as store:
        for asked, outcome in kept:
            store.keep(Problem(asked, VOLUME), outcome)
        return list(matches(store, Problem(spec)))


@given(st.sampled_from(ALL_SYMMETRIES), st.permutations(range(3)), st.booleans())
def test_an_image_of_a_layout_is_found_for_the_image_of_its_pins(
    symmetry: Symmetry, order: list[int], with_cells: bool
) -> None:
    """Whatever its inputs are called and in which order they come."""
    spec, outcome = pins_asked()
    assert outcome.layout is not None
    image = symmetry(outcome.layout)
    where = {pin.name: pin for pin in image.pins}
    moved = reordered(spec.function, tuple(order))
    names = {"a": "u", "b": "v", "c": "w", "q": "z"}
    asked = Spec(
        BooleanFunction(tuple(names[name] for name in moved.inputs), {"z": moved.outputs["q"]}),
        Limits(*image.size, delay=2),
        {
            names[name]: PinDemand((pin.face,), pin.at if with_cells else None, pin.joint)
            for name, pin in where.items()
        },
    )
    (match,) = found_for(asked, (spec, outcome))
    assert match.verdict.passes
    assert check(match.layout, asked) == match.verdict
    assert tuple(pin.name for pin in match.layout.pins) == asked.pin_names


@settings(max_examples=60)
@given(st.lists(st.sampled_from([None, *LEVEL_DIRECTIONS]), min_size=3, max_size=3))
def test_a_layout_is_found_exactly_if_one_of_its_images_does(
    faces: list[Direction | None],
) -> None:
    """Against all images of both orders of inputs, tried one by one."""
    _, outcome = solved()
    assert outcome.layout is not None
    pins = {
        name: PinDemand(None if face is None else (face,))
        for name, face in zip(("a", "b", "q"), faces, strict=True)
    }
    asked = Spec(Spec.parse("q = a & ~b").function, Limits(3, 2, 3, delay=2), pins)
    image_passes = any(check(symmetry(outcome.layout), asked).passes for symmetry in ALL_SYMMETRIES)
    assert bool(found_for(asked, solved())) is image_passes


def test_other_limits_make_no_difference_as_long_as_they_are_kept() -> None:
    spec, outcome = solved()
    assert outcome.layout is not None
    volume = outcome.layout.volume
    for limits, kept in (
        (Limits(), True),
        (Limits(volume=volume), True),
        (Limits(volume=volume - 1), False),
        (Limits(delay=1), False),
        (Limits(9, 9, 9, delay=9), True),
        (Limits(height=outcome.layout.height - 1), False),
        (Limits(length=1, width=2), True),
    ):
        (*rest,) = found_for(spec.replace(limits=limits), (spec, outcome))
        assert bool(rest) is kept, limits


def test_what_stands_outside_is_as_asked() -> None:
    spec, outcome = solved()
    buffers = spec.replace(
        pins={name: replace(ask, joint=Joint.BUFFER) for name, ask in spec.pins.items()}
    )
    assert not found_for(buffers, (spec, outcome))


def test_what_stacks_is_found_for_who_asks_for_no_stack_and_along_the_other_axis() -> None:
    spec, outcome = solved(stack="y")
    assert found_for(spec.replace(stack=None), (spec, outcome))
    (turned,) = found_for(spec.replace(stack=StackDemand("x"), limits=Limits()), (spec, outcome))
    assert turned.symmetry.quarters % 2 == 1
    assert turned.layout.stack is not None
    assert turned.layout.stack.axis == "x"


def test_the_best_comes_first_and_as_it_lies() -> None:
    small, outcome = solved()
    other = solved(stack="y")
    found = found_for(small.replace(limits=Limits()), other, (small, outcome))
    volumes = [match.layout.volume for match in found]
    assert len(found) == 2
    assert volumes == sorted(volumes)
    assert all(match.symmetry == IDENTITY for match in found)


@pytest.mark.parametrize("answer", [impossible(), best_so_far(None, 2)])
def test_answers_without_a_layout_are_no_match(answer: object) -> None:
    spec, _ = solved()
    with Store(":memory:") as store:
        store.keep_answer(Canonical.of(Problem(spec, VOLUME))[0], answer)  # type: ignore[arg-type]
        assert list(matches(store, Problem(spec))) == []


def test_another_function_is_no_match() -> None:
    assert not found_for(Spec.parse("q = a | b"), solved())
    assert not found_for(Spec.parse("q = a & ~b; r = a"), solved())


def decided(limits: Limits, answer: Answer) -> Store:
    store = Store(":memory:")
    spec = Spec.parse("q = a & ~b").replace(limits=limits)
    store.keep_answer(Canonical.of(Problem(spec, VOLUME))[0], answer)
    return store


@pytest.mark.parametrize(
    ("limits", "follows"),
    [
        (Limits(4, 2, 4, delay=2), True),
        (Limits(3, 2, 4, delay=1), True),
        (Limits(4, 2, 4, volume=5, parts=3, delay=2), True),
        (Limits(5, 2, 4, delay=2), False),
        (Limits(4, 2, 4, delay=3), False),
    ],
)
def test_impossible_under_wider_limits_is_impossible(limits: Limits, follows: bool) -> None:
    with decided(Limits(4, 2, 4, delay=2), impossible()) as store:
        spec = Spec.parse("z = ~u & v").replace(limits=limits)
        assert (implied(store, Problem(spec)) is not None) is follows
        # What counts as smallest makes no difference to it; what else is asked does.
        assert (implied(store, Problem(spec, ("delay",))) is not None) is follows
        assert implied(store, Problem(spec.replace(stack=StackDemand("y")))) is None
        assert implied(store, Problem(spec.replace(ground=True))) is None
        assert implied(store, Problem(spec, VOLUME, Rules(reach=9))) is None
        assert implied(store, Problem(spec.replace(empty=frozenset({(0, 0, 0)})))) is None


@pytest.mark.parametrize(
    ("limits", "follows"),
    [
        (Limits(4, 2, 4, delay=1), True),
        (Limits(3, 1, 1, volume=3, delay=2), True),
        (Limits(2, 2, 4, delay=2), False),
        (Limits(4, 2, 4, delay=0), False),
        (Limits(4, 2, 4, volume=2, delay=2), False),
        (Limits(4, 2, 5, delay=2), False),
    ],
)
def test_the_smallest_under_wider_limits_is_the_smallest(limits: Limits, follows: bool) -> None:
    """If it keeps the narrow ones: 3 x 1 x 1 cells that meet 1 tick."""
    with decided(Limits(4, 2, 4, delay=2), found(3)) as store:
        spec = Spec.parse("z = ~u & v").replace(limits=limits)
        assert (implied(store, Problem(spec)) is not None) is follows
        assert implied(store, Problem(spec, ("floor",))) is None


def test_nothing_follows_from_what_is_undecided() -> None:
    with decided(Limits(4, 2, 4, delay=2), best_so_far(3, 3)) as store:
        spec = Spec.parse("z = ~u & v").replace(limits=Limits(4, 2, 4, delay=1))
        assert implied(store, Problem(spec)) is None


def test_a_slice_of_a_chain_is_found_under_other_names() -> None:
    """Its links are called as they are asked."""
    spec = with_limits(load_target("full-adder-slice"), joint="buffer", length=6, height=6)
    slice_ = Layout.load(RECORDS / "adder_slice_layout.json")
    outcome = Outcome(Status.UNDECIDED, slice_, check(slice_, spec), "made up")
    text = "sum = c ^ x ^ y; carry = x & y | c & (x | y)"
    asked = Spec.parse(text, joint="buffer", stack="x", chain="carry:c", width=2, delay=10)
    (match,) = found_for(asked, (spec, outcome))
    assert match.layout.chain == asked.chain
    assert check(match.layout, asked).passes
    assert match.layout.size == slice_.size
    along_y = Spec.parse(text, joint="buffer", stack="y", chain="carry:c", length=2, delay=10)
    (turned,) = found_for(along_y, (spec, outcome))
    assert turned.turned
    assert turned.layout.size == (2, 6, 6)
