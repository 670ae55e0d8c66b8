"""Rows of kept slices: right with every joint, and composed wherever a function is one."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from synth.circuits.reading.equations import parse_equations
from synth.composing import compose
from synth.composing.iterative import iterations, links_of
from synth.composing.kept_slices import SliceAsked, kept, slices_of
from synth.composing.rows import rows_of
from synth.layout import Layout
from synth.medium import DEFAULT_RULES, Joint, Rules
from synth.simulator import check
from synth.simulator.made_for import spec_made_for
from synth.spec import BooleanFunction, Limits, Spec

KEPT = sorted((Path(__file__).parents[2] / "synth" / "composing" / "kept").glob("*.json"))


def sliced(inputs: int = 1, joint: Joint = Joint.BUFFER, **columns: str) -> SliceAsked:
    """A slice with one link; the columns of its outputs, ``lo`` is that of its link."""
    names = (*(f"i{index}" for index in range(inputs)), "li")
    return SliceAsked(BooleanFunction(names, columns), links_of(1), joint)


COMPARATOR = """
e1 = a1 ~^ b1
less = ~a1 & b1 | e1 & ~a0 & b0
equal = e1 & (a0 ~^ b0)
greater = ~(less | equal)
outputs = less equal greater
"""
"""Its slices have two links, one of which may begin with on."""


@pytest.mark.parametrize("path", KEPT, ids=lambda path: path.stem)
def test_a_kept_slice_is_a_right_slice(path: Path) -> None:
    """It does what it says, chained along x: the verdict holds for rows of any length."""
    layout = Layout.load(path)
    spec = spec_made_for(layout)
    assert spec is not None
    verdict = check(layout, spec)
    assert verdict.passes
    assert verdict.chained
    assert layout.width <= 2
    assert layout.stack is not None
    assert layout.stack.axis == "x"
    joint = Joint.WIRE if path.stem.endswith("-wire") else Joint.BUFFER
    for pin in layout.pins:
        assert pin.joint is (Joint.BUFFER if layout.stack.linked(pin.name) else joint)


def test_kept_slices_are_found_under_other_names_and_orders() -> None:
    adders = sliced(2, o0="01101001", lo="00010111")
    found = kept(adders)
    assert len(found) > 1
    assert [layout.volume for layout in found] == sorted(layout.volume for layout in found)
    greater, smaller = sliced(2, lo="01001101"), sliced(2, lo="01110001")
    # A comparator is kept from its most significant bit on: other ways to write it have none.
    several = [
        SliceAsked(found.function, found.links)
        for found in iterations(parse_equations(COMPARATOR, "comparator"))
    ]
    comparators = [slices for slices in several if kept(slices)]
    assert 0 < len(comparators) < len(several)
    for slices in (adders, greater, smaller, *comparators):
        assert kept(slices)
        for layout in kept(slices):
            assert layout.chain == slices.links
            assert check(layout, slices.spec).passes


def test_kept_slices_serve_their_own_joint_and_medium_alone() -> None:
    parity = sliced(lo="0110")
    assert kept(parity)
    for layout in kept(replace(parity, joint=Joint.WIRE)):
        assert {pin.joint for pin in layout.pins} == set(Joint)
    assert not kept(replace(parity, rules=Rules(reach=9)))
    assert kept(sliced(lo="01-0"))


def test_outputs_that_nobody_asks_for_are_left_out() -> None:
    """The carry of an adder alone."""
    carry = sliced(2, lo="00010111")
    assert kept(carry)
    for layout in kept(carry):
        assert [pin.name for pin in layout.outputs] == ["lo"]
        assert check(layout, carry.spec).passes


FUNCTIONS = {
    "parity": "q = a ^ b ^ c ^ d",
    "or": "q = a | b | c | d | e",
    "greater": "q = a1 & ~b1 | (a1 | ~b1) & a0 & ~b0",
    "chooser": "q1 = s ? a1 : b1; q0 = s ? a0 : b0",
    "adder": "s0 = a0 ^ b0; s1 = a1 ^ b1 ^ (a0 & b0); c = a1 & b1 | (a1 | b1) & a0 & b0",
}


@pytest.mark.parametrize("joint", list(Joint))
@pytest.mark.parametrize("name", FUNCTIONS)
def test_rows_of_a_function_are_right(name: str, joint: Joint) -> None:
    spec = Spec.parse(FUNCTIONS[name], joint=str(joint))
    found = list(rows_of(spec, DEFAULT_RULES))
    # Few slices are kept with wire joints.
    assert found or (joint is Joint.WIRE and name not in ("parity", "or"))
    for layout in found:
        verdict = check(layout, spec.replace(limits=Limits(delay=60)))
        assert verdict.passes
        assert tuple(pin.name for pin in layout.pins) == spec.pin_names


@given(st.text("01", min_size=8, max_size=8))
def test_rows_of_any_function_are_right(column: str) -> None:
    """Of three inputs in the order given, or the other way round."""
    spec = Spec(BooleanFunction(("a", "b", "c"), {"q": column}))
    for layout in rows_of(spec, DEFAULT_RULES):
        assert check(layout, spec).function


def test_a_row_wins_where_its_delay_is_allowed() -> None:
    spec = Spec.parse(FUNCTIONS["parity"], joint="buffer")
    best = compose(spec).best
    assert best is not None
    assert best.construction == "row of slices"
    quick = compose(spec.replace(limits=Limits(delay=6))).best
    assert quick is not None
    assert quick.construction != "row of slices"
    assert best.layout is not None
    assert quick.layout is not None
    assert best.layout.volume < quick.layout.volume
    ground = compose(spec.replace(ground=True)).best
    assert ground is not None
    assert ground.construction == "row of slices"


@pytest.mark.parametrize(
    "asked",
    [
        {"stack": "y", "joint": "buffer"},
        {"input_faces": ["-x"], "output_faces": ["+x"], "joint": "buffer"},
    ],
)
def test_no_row_is_where_it_would_not_do(asked: dict[str, object]) -> None:
    """Its pins lie along it, so that it does not stack across, and are on other faces."""
    best = compose(Spec.parse(FUNCTIONS["parity"], **asked)).best
    assert best is not None
    assert best.construction != "row of slices"


ADDER = "s = a ^ b ^ ci; co = a & b | ci & (a | b)"


def chained(text: str, axis: str = "x", **limits: int) -> Spec:
    return Spec.parse(text, stack=axis, chain=[("co", "ci")], joint="buffer", **limits)


@pytest.mark.parametrize("axis", ["x", "y"])
@pytest.mark.parametrize("ground", [False, True])
def test_a_chain_begins_with_a_slice_that_is_kept(axis: str, ground: bool) -> None:
    spec = chained(ADDER, axis).replace(ground=ground)
    made = compose(spec)
    assert made.best is not None
    assert made.best.construction == "kept slice"
    assert made.layout is not None
    assert made.layout.volume == 72
    assert made.layout.ground is ground
    assert check(made.layout, spec).passes


def test_a_kept_slice_that_breaks_a_limit_is_not_the_best() -> None:
    quick = compose(chained(ADDER, link_delay=3))
    assert quick.best is not None
    assert quick.best.verdict is not None
    assert quick.best.verdict.link_delay is not None
    assert quick.best.verdict.link_delay <= 3
    narrow = compose(chained(ADDER, height=5))
    assert narrow.layout is None or narrow.layout.height <= 5


def test_of_what_is_no_chain_or_has_joints_of_both_kinds_no_slice_is_kept() -> None:
    assert list(slices_of(Spec.parse("q = a ^ b"), DEFAULT_RULES)) == []
    mixed = chained(ADDER)
    mixed = mixed.replace(pins={**mixed.pins, "a": replace(mixed.pins["a"], joint=Joint.WIRE)})
    assert list(slices_of(mixed, DEFAULT_RULES)) == []
