"""Suspects: signals that would put all outputs right lead to where the mistake is."""

from __future__ import annotations

import pytest

from synth.layout import Layout
from synth.medium import DEFAULT_RULES, Cell, Part
from synth.reviewing import review
from synth.reviewing.subject import Effort, Subject
from synth.reviewing.suspects import suspects
from synth.simulator import check
from synth.spec import Spec
from tests.reviewing.planted import XOR2, line
from tests.simulator.build import to

PLENTY = 10**9


def suspected(layout: Layout, text: str, parts: int = PLENTY) -> list[Cell]:
    spec = Spec.parse(text)
    subject = Subject(layout, spec, None, DEFAULT_RULES, check(layout, spec))
    return suspects(subject, Effort(parts))


def test_a_cut_far_upstream_is_suspected() -> None:
    # Two buffers; the wire between them is cut.
    cut = line(12, x3=to("+x"), x9=to("+x")).with_cells({(6, 0, 1): None})
    found = suspected(cut, "q = a")
    assert found[0] == (9, 0, 1)
    # What the second one looks at, up to the cut.
    assert {(8, 0, 1), (7, 0, 1)} <= set(found)
    assert (2, 0, 1) not in found


def test_nothing_is_suspected_where_nothing_is_wrong() -> None:
    assert suspected(line(12, x3=to("+x")), "q = a") == []
    assert suspected(line(12).with_cells({(5, 0, 0): None}), "q = a") == []


def test_without_effort_nothing_is_tried() -> None:
    cut = line(12, x3=to("+x"), x9=to("+x")).with_cells({(6, 0, 1): None})
    # What is left is what the output looks at.
    assert suspected(cut, "q = a", parts=0) == [(10, 0, 1), (11, 0, 1)]


@pytest.mark.parametrize(
    "cell", [cell for cell, block in XOR2.cells.items() if block.part is Part.INVERTER]
)
def test_the_review_looks_at_suspects_first(cell: Cell) -> None:
    wrong = XOR2.with_cells({cell: None})
    reviewed = review(wrong, Spec.parse("q = a ^ b"))
    assert not reviewed.verdict.passes
    assert any(
        remedy.passes and remedy.change.cells == {cell: XOR2.cells[cell]}
        for finding in reviewed.findings
        for remedy in finding.remedies
    )
