"""An explained no: the limits that stand in the way, found by letting them out."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any

import pytest

from synth.layout import Layout
from synth.medium import SOLID, Direction, Joint
from synth.questions.outcome import Outcome
from synth.search import Status, advise, solve
from synth.search.walk.advice import Finding, advice, findings
from synth.search.walk.letting_out import LetOut, Step, limits_to_let_out
from synth.spec import PinDemand, Spec, StackDemand

XOR = Spec.parse(
    "q = a ^ b",
    **{"length": 4, "width": 2, "height": 4, "delay": 2, "stack": "y", "pitch": 2},
    input_faces="-x",
    output_faces="+x",
)
SMALL = Layout((1, 1, 2), {(0, 0, 0): SOLID})


def test_a_tick_more_is_found_to_help() -> None:
    spec = Spec.parse("q = ~a", length=1, width=1, height=2, delay=0)
    outcome = solve(spec)
    assert outcome.status is Status.IMPOSSIBLE
    assert outcome.advice == ()
    said = advise(spec, 60, workers=1)
    assert said[0] == "what stands in the way is delay 0"
    assert said[1] == "with delay 1 instead of 0 there is a layout of 1 x 1 x 2 cells"
    again = solve(Spec.parse("q = ~a", length=1, width=1, height=2, delay=1))
    assert again.status is Status.FOUND


def test_the_answer_may_wait_for_advice() -> None:
    spec = Spec.parse("q = ~a", length=1, width=1, height=2, delay=0)
    assert solve(spec, advise_s=60, workers=1).advice == advise(spec, 60, workers=1)


def test_without_time_nothing_is_said() -> None:
    assert advise(Spec.parse("q = a & b", length=1, width=1, height=2, delay=1), 0) == ()


def test_fixed_cells_keep_the_box_as_it_is() -> None:
    spec = Spec.parse("q = ~a", length=1, width=1, height=2, delay=0)
    names = [limit.name for limit in limits_to_let_out(spec.replace(empty=frozenset({(0, 0, 1)})))]
    assert "the cells kept empty" in names
    assert not any("length" in name for name in names)


def test_every_limit_in_force_can_be_let_out() -> None:
    spec = XOR.replace(
        fixed={(0, 0, 0): SOLID},
        pins=dict(XOR.pins) | {"a": PinDemand(at=(0, 1, 1), faces=(Direction.NX,))},
    )
    limits = {limit.name: limit for limit in limits_to_let_out(spec)}
    assert set(limits) == {
        "delay 2",
        "the face asked for inputs a and b",
        "the face asked for output q",
        "the cell asked for a",
        "the wire joints at a and b",
        "the wire joints at q",
        "being without ground",
        "the cells kept as they are",
        "stacking along y",
        "pitch 2",
    }
    freed = limits["the face asked for inputs a and b"].steps[0].change(spec)
    assert set(freed.faces("a")) == {Direction.NX, Direction.PX}
    assert freed.faces("q") == spec.faces("q")
    joined = limits["the wire joints at q"].steps[0].change(spec)
    assert (joined.joint("q"), joined.joint("a")) == (Joint.BUFFER, Joint.WIRE)
    assert limits["pitch 2"].steps[0].change(spec).stack == StackDemand("y", 3)
    assert limits["stacking along y"].steps[0].change(spec).stack is None
    assert limits["being without ground"].steps[0].change(spec).ground
    assert not limits["the cells kept as they are"].steps[0].change(spec).fixed
    assert limits["the cell asked for a"].steps[0].change(spec).pins["a"].at is None
    upright = {limit.name for limit in limits_to_let_out(XOR.replace(stack=StackDemand("z")))}
    assert "being without ground" not in upright


class Asked:
    """Stands in for the search: finds a layout for what ``has_one`` says has one."""

    def __init__(self, has_one: Callable[[Spec], bool]) -> None:
        self.has_one = has_one
        self.specs: list[Spec] = []

    def __call__(
        self, spec: Spec, ruled_out: Sequence[Spec], seconds: float, glance: bool
    ) -> Outcome:
        self.specs.append(spec)
        if self.has_one(spec):
            return Outcome(Status.FOUND, SMALL)
        return Outcome(Status.IMPOSSIBLE)


def test_a_single_limit_that_helps_leaves_pairs_unasked() -> None:
    asked = Asked(lambda spec: spec.joint("q") is Joint.BUFFER)
    single, pairs = findings(XOR, 60, asked)
    assert [finding.helped for finding in single if finding.helped] == [
        "buffer joints instead of wire at q"
    ]
    assert not pairs
    assert advice(single)[0] == "what stands in the way is the wire joints at q"


def test_two_limits_together_are_found_where_none_helps_alone() -> None:
    asked = Asked(lambda spec: spec.pins["a"].faces is None and (spec.limits.delay or 0) >= 3)
    single, pairs = findings(XOR, 60, asked)
    assert not any(finding.helped for finding in single)
    said = advice(single, pairs)
    assert said[0] == (
        "no limit stands in the way alone, but the face asked for inputs a and b and delay 2 "
        "together do"
    )
    assert said[1] == (
        "with any face for inputs a and b and delay 3 instead of 2 there is a layout of 1 x 1 x 2 "
        "cells"
    )
    assert "delay up to 5" in said[2]


def test_pairs_that_were_ruled_out_are_counted() -> None:
    single, pairs = findings(XOR, 60, Asked(lambda spec: False))
    assert all(finding.decided for finding in (*single, *pairs))
    count = len(single)
    assert len(pairs) == count * (count - 1) // 2
    assert advice(single, pairs)[-1] == (
        f"nor was any pair found to help: of {len(pairs)} pairs tried, {len(pairs)} are ruled out"
    )


def test_what_was_not_decided_is_named_so() -> None:
    def never(spec: Spec, ruled_out: Sequence[Spec], seconds: float, glance: bool) -> Outcome:
        return Outcome(Status.UNDECIDED)

    single, pairs = findings(XOR, 60, never)
    said = advice(single, pairs)
    assert said[0] == "relaxing any one limit was not found to help"
    assert said[1].startswith("not decided in the time allowed: any face for inputs a and b; ")
    assert not any("these do not help alone" in sentence for sentence in said)


def test_a_step_that_was_ruled_out_is_said_beside_what_is_open() -> None:
    def first_only(spec: Spec, ruled_out: Sequence[Spec], seconds: float, glance: bool) -> Outcome:
        most = spec.limits.delay or 0
        return Outcome(Status.IMPOSSIBLE if most == 3 else Status.UNDECIDED)

    single, _ = findings(XOR, 60, first_only)
    (delay,) = (finding for finding in single if finding.name == "delay 2")
    assert delay.open == "delay up to 5 (not just delay 3 instead of 2)"


def test_failure_of_a_question_ends_the_advice() -> None:
    def failing(*_: Any) -> Outcome:
        raise RuntimeError("a worker is gone")

    with pytest.raises(RuntimeError, match="a worker is gone"):
        findings(XOR, 60, failing)


def test_findings_in_words() -> None:
    def limit(name: str, never: str) -> LetOut:
        return LetOut(name, (Step(f"more {name}", lambda spec: spec),), never)

    helps = Finding((limit("delay 1", "delay up to 4"),), "delay 2 instead of 1", (4, 2, 4))
    other = Finding((limit("width 2", "width up to 5"),), "width 3 instead of 2", (4, 3, 4))
    never = Finding((limit("height 4", "height up to 7"),), decided=True)
    assert advice([]) == ()
    assert advice([helps, never])[0] == "what stands in the way is delay 1"
    assert advice([helps, other])[0] == "delay 1 and width 2 cannot all be kept"
    assert advice([helps, never])[1:] == (
        "with delay 2 instead of 1 there is a layout of 4 x 2 x 4 cells",
        "these do not help alone: height up to 7",
    )


def test_where_cells_are_kept_a_larger_volume_may_help() -> None:
    spec = Spec.parse("q = ~a", length=1, width=1, height=2, volume=1, delay=1)
    spec = spec.replace(fixed={(0, 0, 0): SOLID})
    assert solve(spec, workers=1).status is Status.IMPOSSIBLE
    said = advise(spec, 60, workers=1)
    assert "what stands in the way is volume 1" in said
    assert "with volume 2 instead of 1 there is a layout of 1 x 1 x 2 cells" in said
