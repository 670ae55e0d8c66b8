"""The simulator against the slow third reading of the same text, on random layouts."""

from __future__ import annotations

from random import Random

from hypothesis import given, settings
from hypothesis import strategies as st

from synth.layout import Layout
from synth.medium import AXES
from synth.simulator import check, legality, trace
from tests.reading import plain
from tests.reading.random_layouts import any_layouts, legal_layouts, random_drive


@settings(max_examples=120)
@given(legal_layouts(), st.randoms(use_true_random=False))
def test_traces_are_alike(layout: Layout, rng: Random) -> None:
    words = random_drive(rng, layout, 20)
    assert trace(layout, words, 20) == plain.play(layout, words, 20)


@settings(max_examples=120)
@given(legal_layouts())
def test_verdicts_are_alike(layout: Layout) -> None:
    compare(layout)


@settings(max_examples=60)
@given(legal_layouts((3, 3, 3), stack=True))
def test_verdicts_on_stacks_are_alike(layout: Layout) -> None:
    compare(layout)


@settings(max_examples=120)
@given(any_layouts())
def test_the_same_layouts_are_legal(layout: Layout) -> None:
    if layout.stack is not None:
        size = layout.size[AXES.index(layout.stack.axis)]
        if layout.stack.pitch < size:
            # Such copies are not side by side; what else is wrong with them is left open.
            layout = layout.replace(stack=None)
    mine = {(fault.rule, fault.at) for fault in legality(layout)}
    theirs = plain.illegalities(layout)
    assert bool(mine) == bool(theirs)
    assert {rule for rule, _ in mine} == {rule for rule, _ in theirs}


def compare(layout: Layout) -> None:
    """Both verdicts of a layout without a specification; rows of up to 4 copies are played."""
    mine = check(layout)
    theirs = plain.verdict(layout, copies=4)
    assert mine.legal
    assert theirs.legal
    assert mine.outputs == theirs.outputs
    assert mine.delay == theirs.delay
    assert mine.fed_back == theirs.fed_back
    assert mine.stacks == theirs.stacks
