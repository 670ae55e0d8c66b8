"""A layout is proven smallest, or a smaller one comes; what is asked is what it keeps."""

from __future__ import annotations

from pathlib import Path

import pytest

from synth.errors import InputError
from synth.layout import Layout, MadeFor
from synth.medium import CLEAR, SOLID, Direction, Joint
from synth.proofs.audit import audit
from synth.proving import kept_spec, prove, standing
from synth.questions.outcome import Outcome, Status
from synth.questions.statistics import Statistics
from synth.search import solve
from synth.simulator import check
from synth.spec import Limits, Spec
from tests.simulator.build import box, enters, hung, leaves
from tests.stored import stored_layout

LOOSE = box(
    (3, 1, 2),
    {(0, 0, 0): SOLID, (1, 0, 0): hung("-x"), (2, 0, 0): CLEAR, (2, 0, 1): CLEAR},
    enters("a", (0, 0, 0), "-x"),
    leaves("q", (1, 0, 0), "-y"),
)
"""An inverter in a box with more room than it needs."""


def test_what_a_layout_keeps() -> None:
    layout = stored_layout("xor2")
    spec = kept_spec(layout)
    assert spec.function.outputs == check(layout).outputs
    assert spec.limits == Limits(*layout.size, delay=check(layout).delay)
    for pin in layout.pins:
        assert spec.pins[pin.name].faces == (pin.face,)
        assert spec.pins[pin.name].joint is pin.joint
    assert spec.stack is not None
    assert spec.stack.axis == "y"
    assert check(layout, spec).passes


def test_what_is_asked_goes_before_what_it_keeps() -> None:
    layout = stored_layout("xor2")
    asked = Spec.parse("q = a ^ b", length=9, delay=4, output_faces=["+x", "-x"])
    spec = kept_spec(layout, asked, loosen=("stack",))
    assert spec.limits == Limits(9, layout.width, layout.height, delay=4)
    assert spec.pins["q"].faces == (Direction.PX, Direction.NX)
    assert spec.stack is None
    free = kept_spec(layout, loosen=("faces",))
    assert all(demand.faces is None for demand in free.pins.values())
    assert {demand.joint for demand in free.pins.values()} == {Joint.WIRE}


def test_the_smallest_is_proven_and_audited(tmp_path: Path) -> None:
    layout = stored_layout("nor2")
    outcome = prove(layout, certificate=tmp_path / "proof")
    assert outcome.status is Status.FOUND
    assert outcome.best == layout.volume
    assert outcome.gap == 0
    assert standing(layout, outcome).startswith("this layout is the smallest")
    assert audit(tmp_path / "proof").passes


def test_a_smaller_one_is_found_where_there_is_one() -> None:
    outcome = prove(LOOSE.replace(name="loose", made_for=MadeFor("q = ~a", 1)))
    assert outcome.status is Status.FOUND
    assert outcome.layout is not None
    assert (outcome.layout.name, outcome.layout.made_for) == ("loose", MadeFor("q = ~a", 1))
    assert outcome.layout.volume < LOOSE.volume
    assert check(outcome.layout, kept_spec(LOOSE)).passes
    assert "a smaller layout was found" in standing(LOOSE, outcome)


def test_what_is_said_where_time_was_short() -> None:
    layout = stored_layout("xor2")
    best = {"layout": layout, "verdict": check(layout), "reason": "the time was up"}
    bounded = Outcome(Status.UNDECIDED, **best, stats=Statistics(bound=24))
    assert standing(layout, bounded) == (
        "nothing smaller was found; what has a volume below 24 is ruled out, and its own is 32"
    )
    roomy = layout.replace(size=(layout.length + 1, layout.width, layout.height), pins=())
    assert "a smaller layout was found: volume 32 in place of 40" in standing(roomy, bounded)


def test_a_proof_goes_on_from_its_file(tmp_path: Path) -> None:
    layout = stored_layout("nor2")
    first = prove(layout, resume=tmp_path / "steps.jsonl")
    again = prove(layout, resume=tmp_path / "steps.jsonl")
    assert again.layout == first.layout
    assert first.stats["questions"] > 0
    assert again.stats["questions"] == 0


def test_a_layout_that_is_not_right_is_refused() -> None:
    layout = stored_layout("nor2")
    with pytest.raises(InputError, match="does not keep what is asked"):
        prove(layout, Spec.parse("q = a & b"))
    with pytest.raises(InputError, match="nothing that can be let go"):
        kept_spec(layout, loosen=("size",))


def test_the_layout_names_its_purpose() -> None:
    layout: Layout = stored_layout("nor2")
    outcome = prove(layout)
    assert outcome.layout is not None
    assert outcome.layout.made_for is not None


def test_the_delay_of_links_is_proven_like_any_measure() -> None:
    spec = Spec.parse(
        "co = a | ci",
        stack="x",
        chain=[("co", "ci")],
        joint="buffer",
        delay=1,
        length=3,
        width=1,
        height=3,
    )
    layout = solve(spec, minimize=("link",)).layout
    assert layout is not None
    proven = prove(layout, minimize=("link",))
    assert proven.status is Status.FOUND
    assert standing(layout, proven).startswith("this layout is the smallest: nothing has less")


def test_the_stack_of_a_chain_cannot_be_let_go() -> None:
    slice_ = stored_layout("and_slice")
    with pytest.raises(InputError, match="the stack of a chain cannot be let go") as refused:
        kept_spec(slice_, loosen=("stack",))
    assert refused.value.place == "loosen"
    assert kept_spec(slice_, loosen=("faces",)).chain
