"""Every kind of finding, on a layout that has it and on one that has not."""

from __future__ import annotations

import json

import pytest
from hypothesis import given, settings

from synth.layout import Layout, Stack
from synth.medium import LEDGE, SOLID, WIRE, Cell, RuleId
from synth.medium_rules import MEDIUM_RULES
from synth.reviewing import Finding, Kind, Place, Review, Severity, memory, review
from synth.reviewing.finding import MEDIUM_OF
from synth.simulator import check
from synth.spec import Spec
from tests.reading.random_layouts import any_layouts
from tests.simulator.build import STANDING, box, enters, hung, leaves, to
from tests.stored import stored_layout


def of_kind(reviewed: Review, kind: Kind) -> list[Finding]:
    return [finding for finding in reviewed.findings if finding.kind is kind]


def cells(finding: Finding) -> list[Cell]:
    return [place.at for place in finding.places]


def line(length: int) -> Layout:
    """A wire on ledges from input to output; the leads count as links, too."""
    parts = {(x, 0, z): (LEDGE, WIRE)[z] for x in range(length) for z in (0, 1)}
    return box(
        (length, 1, 2), parts, enters("a", (0, 0, 1), "-x"), leaves("q", (length - 1, 0, 1), "+x")
    )


# Wires.


def test_a_wire_one_step_from_too_weak() -> None:
    # The lead has 15, so the 13th wire has 2 and the output's lead 1.
    assert not of_kind(review(line(12)), Kind.WEAK)
    (weak,) = of_kind(review(line(13)), Kind.WEAK)
    assert "one step from too weak" in weak.text
    assert cells(weak) == [(12, 0, 1)]
    assert review(line(13)).verdict.passes


def test_a_signal_that_dies_out_is_told_with_where_it_ends() -> None:
    (dead,) = of_kind(review(line(14), Spec.parse("q = a")), Kind.WEAK)
    assert "dies out" in dead.text
    assert cells(dead) == [(13, 0, 1)]
    (longer,) = of_kind(review(line(16), Spec.parse("q = a")), Kind.WEAK)
    assert cells(longer) == [(15, 0, 1), (13, 0, 1)]


# Parts that do nothing.


def test_parts_that_do_nothing_are_those_that_can_go() -> None:
    layout = stored_layout("xor2_5x2x5")
    idle = of_kind(review(layout), Kind.IDLE)
    told = {finding.places[0].at for finding in idle}
    before = check(layout)
    can_go = set()
    for cell in layout.cells:
        after = check(layout.with_cells({cell: None}))
        if after.passes and after.outputs == before.outputs and after.delay == before.delay:
            can_go.add(cell)
    assert told == can_go
    assert all(check(finding.remedies[0].change.on(layout)).passes for finding in idle)


def test_a_part_that_the_specification_fixes_is_not_idle() -> None:
    layout = stored_layout("xor2_5x2x5")
    spec = Spec.parse("q = a ^ b", length=5, width=2, height=5).replace(fixed={(0, 0, 0): LEDGE})
    told = {finding.places[0].at for finding in of_kind(review(layout, spec), Kind.IDLE)}
    assert told == {(3, 0, 0)}


# Oscillation and memory.


def test_a_ring_oscillates() -> None:
    ring = box(
        (2, 1, 3),
        {(0, 0, 0): SOLID, (0, 0, 1): WIRE, (1, 0, 0): hung("-x"), (1, 0, 1): SOLID},
        leaves("q", (0, 0, 1), "-x"),
    )
    reviewed = review(ring)
    (found,) = of_kind(reviewed, Kind.OSCILLATION)
    assert cells(found) == [(1, 0, 0)]
    assert found.details["period"] == 2
    assert "every 2 ticks" in found.text
    assert not of_kind(reviewed, Kind.MEMORY)


def loop(delay: int = 1) -> Layout:
    """Two buffers in a circle, which an input can turn on for good."""
    parts = {(x, y, 0): LEDGE for x in range(3) for y in range(2)}
    parts |= {
        (0, 0, 1): WIRE,
        (1, 0, 1): to("+x", delay),
        (2, 0, 1): WIRE,
        (0, 1, 1): WIRE,
        (1, 1, 1): to("-x", delay),
        (2, 1, 1): WIRE,
    }
    return box(
        (3, 2, 2), parts, enters("a", (0, 0, 1), "-x", "buffer"), leaves("q", (2, 0, 1), "+x")
    )


def test_a_circle_of_buffers_remembers() -> None:
    (found,) = of_kind(review(loop()), Kind.MEMORY)
    assert set(cells(found)) == {(1, 0, 1), (1, 1, 1)}
    assert "q=0 or q=1" in found.text
    states = found.details["states"]
    assert [(state["inputs"], state["outputs"]["q"]) for state in states] == [
        ("0", 0),
        ("0", 1),
        ("1", 1),
    ]
    # Once on, it stays on; from off, the input turns it on.
    arcs = {(arc["from"], arc["inputs"]): arc["to"] for arc in found.details["changes"]}
    assert arcs == {(0, "0"): 0, (0, "1"): 2, (1, "0"): 1, (1, "1"): 2, (2, "0"): 1, (2, "1"): 2}


def test_what_is_too_long_to_play_is_only_named(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(memory, "MAX_KEPT", 1)
    reviewed = review(loop())
    (found,) = of_kind(reviewed, Kind.UNSETTLED)
    assert set(cells(found)) == {(1, 0, 1), (1, 1, 1)}
    assert any("states that hold" in text for text in reviewed.left_out)


def test_what_settles_neither_oscillates_nor_remembers() -> None:
    reviewed = review(stored_layout("xor2"))
    assert not {Kind.OSCILLATION, Kind.MEMORY, Kind.UNSETTLED} & {
        finding.kind for finding in reviewed.findings
    }


# Inputs fed back.


def test_what_feeds_an_input_is_named() -> None:
    layout = box(
        (1, 1, 2),
        {(0, 0, 0): SOLID, (0, 0, 1): STANDING},
        enters("a", (0, 0, 1), "-x"),
        leaves("q", (0, 0, 1), "+x"),
    )
    (found,) = of_kind(review(layout), Kind.FED_BACK)
    assert found.severity is Severity.FAULT
    assert found.medium == "5 fed back"
    assert "what feeds it: (0,0,1)" in found.text
    assert any(
        remedy.passes and remedy.text == "give pin 'a' a buffer joint" for remedy in found.remedies
    )


# Stacking.


def test_what_disturbs_which_copy_is_named_with_its_copy() -> None:
    # The second wire runs along y, out of the box, and charges the next copy's host.
    layout = box(
        (2, 3, 2),
        {
            (0, 0, 1): SOLID,
            (1, 0, 1): hung("-x"),
            (0, 1, 0): LEDGE,
            (0, 1, 1): WIRE,
            (0, 2, 0): LEDGE,
            (0, 2, 1): WIRE,
        },
        enters("a", (0, 0, 1), "-x"),
        enters("b", (0, 1, 1), "-x", "buffer"),
        leaves("q", (1, 0, 1), "+x"),
        stack=Stack("y", 3),
    )
    (found,) = of_kind(review(layout), Kind.STACKING)
    assert found.rule is RuleId.STACK_FUNCTION
    assert "(0,2,1) of copy 1 charges the solid (0,0,1) of copy 2" in found.text
    assert {Place((0, 2, 1), 1), Place((0, 0, 1), 2)} <= set(found.places)
    assert found.remedies[0].passes


def test_a_right_layout_without_stacking_is_told_whether_it_would_stack() -> None:
    layout = stored_layout("xor2").replace(stack=None)
    (note,) = [one for one in of_kind(review(layout), Kind.STACKING) if one.details["axis"] == "y"]
    assert note.severity is Severity.NOTE
    assert note.text == "it would stack along y at pitch 2"


# The review as a whole.


@settings(max_examples=20)
@given(any_layouts())
def test_every_review_keeps_to_its_verdict(layout: Layout) -> None:
    reviewed = review(layout)
    assert reviewed.verdict == check(layout)
    faults = reviewed.of(Severity.FAULT)
    assert bool(faults) == bool(reviewed.verdict.faults)
    assert {fault.rule for fault in faults} == {fault.rule for fault in reviewed.verdict.faults}
    json.dumps(reviewed.document())
    order = [finding.severity.order for finding in reviewed.findings]
    assert order == sorted(order)
    for finding in reviewed.findings:
        assert finding.medium is None or finding.medium in MEDIUM_RULES
        assert all(layout.inside(place.at) for place in finding.places)
        for remedy in finding.remedies:
            after = check(remedy.change.on(layout))
            assert after.passes == remedy.passes
            if finding.rule is not None and not remedy.passes:
                assert (finding.rule, finding.places[0].at) not in {
                    (fault.rule, fault.at) for fault in after.faults
                }


def test_a_review_that_is_stopped_says_so() -> None:
    reviewed = review(stored_layout("xor2_5x2x5"), stop=lambda: True)
    assert reviewed.verdict.passes
    assert any("stopped" in text for text in reviewed.left_out)
    assert not any("a layout that is wrong" in text for text in reviewed.left_out)


def test_every_rule_of_the_medium_behind_a_fault_has_its_words() -> None:
    assert set(MEDIUM_OF.values()) <= set(MEDIUM_RULES)


def test_joints_that_would_break_it_are_notes() -> None:
    found = of_kind(review(stored_layout("nor2")), Kind.JOINT)
    assert [(one.severity, one.details["pin"]) for one in found] == [
        (Severity.NOTE, "a"),
        (Severity.NOTE, "b"),
    ]
