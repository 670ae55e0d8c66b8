"""Circuits that are rows of slices: far smaller, right with every joint, end and limit."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from random import Random

import pytest

from synth.building import BuildLimits, build, pipeline
from synth.building.best import Asked
from synth.building.events import StageDone
from synth.building.rows import rows
from synth.building.slices import searched, stored
from synth.circuits.circuit import Circuit
from synth.circuits.reading.equations import parse_equations
from synth.cli.build import build_text
from synth.composing import compose
from synth.composing.kept_slices import SliceAsked, kept
from synth.layout import Layout
from synth.library.store import Store
from synth.medium import DEFAULT_RULES, Direction, Joint
from synth.questions.outcome import Outcome, Status
from synth.questions.problem import Problem
from synth.simulator import check
from synth.spec import BooleanFunction, Limits
from tests.building.test_build import Watching, adder
from tests.circuits.drawn import drawn_circuit
from tests.composing.test_rows import COMPARATOR, sliced


def asked(circuit: Circuit, joint: Joint = Joint.BUFFER, **limits: int) -> Asked:
    return Asked(circuit, BuildLimits(**limits), "area", joint, False, DEFAULT_RULES)


def made_by_construction(slices: SliceAsked) -> list[Layout]:
    """A source of slices that needs no search: any function, large."""
    best = compose(slices.spec).best
    return [] if best is None or best.layout is None else [best.layout]


EQUAL = "q = " + " & ".join(f"(a{i} ~^ b{i})" for i in range(3))
"""Its first slice has a link that is always on."""

SEVERAL = "s0 = a0 ^ c\ns1 = a1 ^ (a0 & c)\nt = a1 & a0 & c"
"""Its first slice has an input for its link, its last one an output."""


@pytest.mark.parametrize("joint", list(Joint))
@pytest.mark.parametrize("text", [EQUAL, SEVERAL, COMPARATOR])
def test_rows_are_right_with_either_joint_and_every_end(text: str, joint: Joint) -> None:
    """Every pin has the joint that is asked: those at the ends of the chain, too."""
    circuit = parse_equations(text, "row")
    own = asked(circuit, joint)
    found = list(rows(own, made_by_construction, 4))
    assert found
    for layout in found:
        assert {pin.joint for pin in layout.pins} == {joint}
        assert layout.stack is None
        verdict = own.judged(layout)
        assert not verdict.faults
        assert verdict.played
        names = [pin.name for pin in layout.pins]
        assert names == [*circuit.inputs, *circuit.outputs]


def test_a_slice_that_does_something_else_gives_no_row() -> None:
    """Whatever a source gives is judged and proven before it counts."""
    circuit = adder(2)

    def wrong(slices: SliceAsked) -> list[Layout]:
        columns = dict(slices.function.outputs)
        columns["lo"] = columns["lo"].replace("0", "1", 1)
        other = BooleanFunction(slices.function.inputs, columns)
        return made_by_construction(replace(slices, function=other))

    assert list(rows(asked(circuit), made_by_construction, 1))
    assert not list(rows(asked(circuit), wrong, 1))


def test_a_row_lies_across_where_its_length_has_a_limit() -> None:
    circuit = adder(3)
    along = next(rows(asked(circuit), kept))
    across = next(rows(asked(circuit, length=4), kept))
    assert along.length > 4 >= across.length
    assert along.volume == across.volume


def test_slices_of_a_store_are_used(tmp_path: Path) -> None:
    """Found under other names, and for a question of their own."""
    slices = sliced(joint=Joint.WIRE, o0="0010", lo="0100")
    with Store(tmp_path / "own.sqlite") as store:
        assert stored(slices, store) == []
        composed = compose(slices.spec).best
        assert composed is not None
        assert composed.layout is not None
        spec = slices.spec.replace(limits=Limits(*composed.layout.size))
        problem = Problem.of(spec)[0]
        verdict = check(composed.layout, problem.spec)
        found = Outcome(
            Status.UNDECIDED, composed.layout, verdict, "made up", measures=problem.measures
        )
        store.keep(problem, found)
        (layout,) = stored(slices, store)
    assert layout == composed.layout
    assert stored(slices, None) == []


def test_a_search_finds_a_slice() -> None:
    slices = sliced(joint=Joint.WIRE, lo="0111")
    (layout,) = searched(slices, seconds=60, seed=0, workers=1)
    assert check(layout, slices.spec).passes


def test_an_adder_is_built_as_a_row_unless_its_pins_lie_at_the_ends() -> None:
    circuit = adder(4)
    watching = Watching()
    built = build(circuit, rounds=1, watcher=watching)
    assert built.status is Status.FOUND
    assert built.origin is not None
    assert built.origin.made_by == "row of slices"
    assert built.layout is not None
    assert built.routed > 5 * built.layout.volume
    assert "equal in every assignment of 9 inputs" in built.claim
    assert "rows" in [event.stage for event in watching.events if isinstance(event, StageDone)]
    ends = build(circuit, rounds=1, pins="ends")
    assert ends.layout is not None
    assert ends.origin is not None
    assert ends.origin.made_by == "placing"
    assert {pin.face for pin in ends.layout.inputs} == {Direction.NX}
    assert {pin.face for pin in ends.layout.outputs} == {Direction.PX}
    quick = build(circuit, rounds=1, by="delay")
    assert quick.delay is not None
    assert built.delay is not None
    assert quick.delay < built.delay
    even = build(circuit, rounds=1, balance=True)
    assert even.origin is not None
    assert even.origin.made_by == "placing"


def test_a_journal_of_a_row_is_gone_on_from(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Also where no row would be made any more."""
    journal = tmp_path / "adder.jsonl"
    first = build(adder(3), rounds=0, resume=journal)
    monkeypatch.setattr(pipeline, "rows", lambda asked, source, most: iter(()))
    again = build(adder(3), rounds=0, resume=journal)
    assert first.layout == again.layout
    assert again.origin is not None
    assert again.origin.made_by == "journal"


def test_a_row_without_a_slice_is_told(monkeypatch: pytest.MonkeyPatch) -> None:
    assert build(adder(3), rounds=1).remark == ""
    monkeypatch.setattr(pipeline, "kept", lambda slices: [])
    built = build(adder(3), rounds=1)
    assert built.status is Status.FOUND
    assert built.remark.startswith("the circuit looks like a row of equal slices, but no slice")
    assert "none was looked for; a time limit" in built.remark
    assert built.document()["remark"] == built.remark
    shown = " ".join(build_text("adder", built).split())
    assert f"Remark: {built.remark}." in shown
    # Where a row is not asked for, none is missed.
    assert build(adder(3), rounds=1, pins="ends").remark == ""


@pytest.mark.parametrize("seed", range(8))
def test_circuits_at_random_are_right_whether_rows_or_not(seed: int) -> None:
    circuit = drawn_circuit(Random(seed), inputs=5, ands=8, outputs=2)
    assert build(circuit, rounds=1).status is Status.FOUND
