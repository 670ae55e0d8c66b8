"""Images, moves and rows of layouts, judged by the simulator: they behave as they should.

The layouts are those of the conformance cases, whose verdicts and traces are known.
"""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

from synth.layout import Layout
from synth.layout.transform import ALL_SYMMETRIES, canonical, moved, repeated, trimmed
from synth.medium import RuleId
from synth.simulator import Verdict, check

CASES = Path(__file__).resolve().parent.parent / "conformance"


def layouts_of(pattern: str) -> list[Any]:
    paths = sorted(CASES.glob(pattern))
    return [
        pytest.param(
            Layout.from_document(json.loads(path.read_text(encoding="utf-8"))["layout"]),
            id=path.stem,
        )
        for path in paths
    ]


def judged(verdict: Verdict) -> tuple[Any, ...]:
    """What a verdict says, without the cells at which it says so."""
    outputs = None if verdict.outputs is None else dict(verdict.outputs)
    rules = sorted(str(fault.rule) for fault in verdict.faults)
    return (verdict.legal, verdict.delay, verdict.stacks, outputs, rules)


@pytest.mark.parametrize("layout", layouts_of("mixed-0[0-2]*.json") + layouts_of("verdicts/*.json"))
def test_images_and_moves_get_the_same_verdict(layout: Layout) -> None:
    expected = judged(check(layout))
    for symmetry in ALL_SYMMETRIES:
        assert judged(check(symmetry(layout))) == expected
    assert judged(check(trimmed(layout))) == expected
    assert judged(check(canonical(layout))) == expected


@pytest.mark.parametrize("layout", layouts_of("verdicts/stacks-*.json"))
def test_a_layout_that_stacks_works_in_a_row(layout: Layout) -> None:
    """Each copy of a row computes the function of one copy, of its own inputs alone."""
    alone = check(layout)
    assert alone.stacks
    assert layout.stack is not None
    assert alone.outputs is not None
    inputs = len(layout.inputs)
    row = check(repeated(layout, layout.stack.axis, 2))
    assert row.legal
    assert row.delay == alone.delay
    assert row.outputs is not None
    for name, column in alone.outputs.items():
        for bits in range(1 << 2 * inputs):
            first, second = bits >> inputs, bits & (1 << inputs) - 1
            assert row.outputs[f"{name}_0"][bits] == column[first]
            assert row.outputs[f"{name}_1"][bits] == column[second]


def test_moving_up_takes_parts_off_the_ground() -> None:
    """So that trimming a layout on ground may not lower it, nor canonical images be moved."""
    case = json.loads((CASES / "on-ground.json").read_text(encoding="utf-8"))
    layout = Layout.from_document(case["layout"])
    length, width, height = layout.size
    raised = moved(layout.replace(pins=(), stack=None), (0, 0, 1), (length, width, height + 1))
    assert check(layout).legal
    assert RuleId.SUPPORT in {fault.rule for fault in check(raised).faults}
