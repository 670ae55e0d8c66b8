"""The simulator and the plain reading of section 11 find the same of slices, right and wrong."""

from __future__ import annotations

from pathlib import Path
from random import Random

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from synth.layout import Layout
from synth.medium import RuleId
from synth.simulator import check
from synth.spec import BooleanFunction, Spec
from tests.reading.chains import bare, crossing, misplaced, times
from tests.reading.plain import illegalities, stack_faults
from tests.reading.random_layouts import random_block
from tests.simulator.test_chains import ANY

DATA = Path(__file__).resolve().parents[1] / "data"
AND = Layout.load(DATA / "and_slice.json")
SLICES = {
    "and": (AND, BooleanFunction(("a", "ci"), {"co": "0001"})),
    "or": (ANY, BooleanFunction(("a", "ci"), {"co": "0111"})),
}
FORBIDDEN = {RuleId.CHAIN_PITCH, RuleId.CHAIN_PLACE, RuleId.CHAIN_FACE, RuleId.STACK_PIN}


def same(layout: Layout, function: BooleanFunction) -> bool:
    """Asserts that both find the same; whether the slice is right."""
    spec = Spec(function)
    found = check(layout, spec)
    assert found.legal == (not illegalities(layout))
    if not found.legal:
        return False
    broken = {fault.rule for fault in found.faults}
    assert bool(broken & FORBIDDEN) == misplaced(layout)
    if misplaced(layout):
        return False
    assert (RuleId.STACK_BUFFER in broken) == crossing(layout)
    others = {RuleId.STACK_LINK, RuleId.STACK_INVERTER, RuleId.STACK_SUPPORT}
    static = {rule for rule, _ in stack_faults(bare(layout))} & others
    assert broken & others == static
    if static or crossing(layout) or found.delay is None:
        return False
    alone = times(layout, function.outputs, copies=1)
    assert alone == (found.delay, found.link_delay)
    in_rows = times(layout, function.outputs, copies=3)
    assert found.stacks == (in_rows == alone)
    return found.passes


@pytest.mark.parametrize("name", SLICES)
def test_slices_are_right_to_both(name: str) -> None:
    assert same(*SLICES[name])


@settings(max_examples=60)
@given(st.sampled_from(sorted(SLICES)), st.randoms(use_true_random=False), st.integers(1, 3))
def test_changed_slices_are_the_same_to_both(name: str, rng: Random, changes: int) -> None:
    layout, function = SLICES[name]
    cells = [
        (x, y, z)
        for x in range(layout.length)
        for y in range(layout.width)
        for z in range(layout.height)
    ]
    for _ in range(changes):
        layout = layout.with_cells({rng.choice(cells): random_block(rng)})
    same(layout, function)
