"""Circuits that are rows of slices: far smaller, right with every joint, end and limit."""

from __future__ import annotations

from pathlib import Path
from random import Random

import pytest

from synth.building import BuildLimits, build
from synth.building.best import Asked
from synth.building.events import StageDone
from synth.building.rows import rows
from synth.building.slices import LINK, kept, searched, slice_spec, stored
from synth.circuits.circuit import Circuit
from synth.circuits.iterative import LINK_IN, LINK_OUT, iterations
from synth.circuits.reading.equations import parse_equations
from synth.composing import compose
from synth.layout import Layout
from synth.library.store import Store
from synth.medium import DEFAULT_RULES, Direction, Joint, Rules
from synth.questions.outcome import Outcome, Status
from synth.questions.problem import Problem
from synth.simulator import check
from synth.simulator.made_for import spec_made_for
from synth.spec import BooleanFunction, Limits
from tests.building.test_build import Watching, adder
from tests.circuits.drawn import drawn_circuit

KEPT = sorted((Path(__file__).parents[2] / "synth" / "building" / "kept").glob("*.json"))


def asked(circuit: Circuit, joint: Joint = Joint.BUFFER, **limits: int) -> Asked:
    return Asked(circuit, BuildLimits(**limits), "area", joint, False, DEFAULT_RULES)


def made_by_construction(joint: Joint) -> object:
    """A source of slices that needs no search: any function, large."""

    def source(function: BooleanFunction) -> list[Layout]:
        best = compose(slice_spec(function, joint)).best
        return [] if best is None or best.layout is None else [best.layout]

    return source


EQUAL = "q = " + " & ".join(f"(a{i} ~^ b{i})" for i in range(3))
"""Its first slice has a link that is always on."""

SEVERAL = "s0 = a0 ^ c\ns1 = a1 ^ (a0 & c)\nt = a1 & a0 & c"
"""Its first slice has an input for its link, its last one an output."""


@pytest.mark.parametrize("joint", list(Joint))
@pytest.mark.parametrize("text", [EQUAL, SEVERAL])
def test_rows_are_right_with_either_joint_and_every_end(text: str, joint: Joint) -> None:
    """Every pin has the joint that is asked: those at the ends of the chain, too."""
    circuit = parse_equations(text, "row")
    own = asked(circuit, joint)
    found = list(rows(own, made_by_construction(joint)))  # type: ignore[arg-type]
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
    source = made_by_construction(Joint.BUFFER)

    def wrong(function: BooleanFunction) -> list[Layout]:
        columns = dict(function.outputs)
        columns[LINK_OUT] = columns[LINK_OUT].replace("0", "1", 1)
        return source(BooleanFunction(function.inputs, columns))  # type: ignore[operator]

    assert list(rows(asked(circuit), source))  # type: ignore[arg-type]
    assert not list(rows(asked(circuit), wrong))


def test_a_row_lies_across_where_its_length_has_a_limit() -> None:
    circuit = adder(3)
    (first,) = iterations(circuit)
    slices = kept(first.function, Joint.BUFFER, DEFAULT_RULES)
    (along, *_) = rows(asked(circuit), lambda function: slices)
    (across, *_) = rows(asked(circuit, length=4), lambda function: slices)
    assert along.length > 4 >= across.length
    assert along.volume == across.volume


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
    assert {pin.joint for pin in layout.pins} == {Joint.BUFFER}
    # The link is the last input and the last output.
    (link,) = layout.chain
    assert link.input == layout.inputs[-1].name
    assert link.output == layout.outputs[-1].name


def test_kept_slices_are_found_under_other_names_and_orders() -> None:
    columns = {"o0": "01101001", LINK_OUT: "00010111"}
    own = BooleanFunction(("i0", "i1", LINK_IN), columns)
    found = kept(own, Joint.BUFFER, DEFAULT_RULES)
    assert len(found) > 1
    assert [layout.volume for layout in found] == sorted(layout.volume for layout in found)
    for layout in found:
        assert layout.chain == (LINK,)
        assert check(layout, slice_spec(own, Joint.BUFFER)).passes
    # greater: i0 & ~i1, and smaller: ~i0 & i1, differ in the order of their inputs alone.
    for column in ("01001101", "01110001"[::-1]):
        for layout in kept(
            BooleanFunction(("i0", "i1", LINK_IN), {LINK_OUT: column}), Joint.BUFFER, DEFAULT_RULES
        ):
            spec = slice_spec(
                BooleanFunction(("i0", "i1", LINK_IN), {LINK_OUT: column}), Joint.BUFFER
            )
            assert check(layout, spec).passes


def test_kept_slices_serve_their_own_joint_and_medium_alone() -> None:
    own = BooleanFunction(("i0", LINK_IN), {LINK_OUT: "0110"})
    assert kept(own, Joint.BUFFER, DEFAULT_RULES)
    assert not kept(own, Joint.WIRE, DEFAULT_RULES)
    assert not kept(own, Joint.BUFFER, Rules(reach=9))
    open_row = BooleanFunction(("i0", LINK_IN), {LINK_OUT: "01-0"})
    assert kept(open_row, Joint.BUFFER, DEFAULT_RULES)


def test_slices_of_a_store_are_used(tmp_path: Path) -> None:
    """Found under other names, and for a question of their own."""
    function = BooleanFunction(("i0", LINK_IN), {"o0": "0010", LINK_OUT: "0100"})
    with Store(tmp_path / "own.sqlite") as store:
        assert stored(function, Joint.WIRE, DEFAULT_RULES, store) == []
        composed = compose(slice_spec(function, Joint.WIRE)).best
        assert composed is not None
        assert composed.layout is not None
        spec = slice_spec(function, Joint.WIRE).replace(limits=Limits(*composed.layout.size))
        problem = Problem.of(spec)[0]
        verdict = check(composed.layout, problem.spec)
        found = Outcome(
            Status.UNDECIDED, composed.layout, verdict, "made up", measures=problem.measures
        )
        store.keep(problem, found)
        (layout,) = stored(function, Joint.WIRE, DEFAULT_RULES, store)
    assert layout == composed.layout
    assert stored(function, Joint.WIRE, DEFAULT_RULES, None) == []


def test_a_search_finds_a_slice() -> None:
    function = BooleanFunction(("i0", LINK_IN), {LINK_OUT: "0111"})
    (layout,) = searched(function, Joint.WIRE, DEFAULT_RULES, seconds=60, seed=0, workers=1)
    assert check(layout, slice_spec(function, Joint.WIRE)).passes


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


def test_a_journal_of_a_row_is_gone_on_from(tmp_path: Path) -> None:
    journal = tmp_path / "adder.jsonl"
    first = build(adder(3), rounds=0, resume=journal)
    again = build(adder(3), rounds=0, resume=journal)
    assert first.layout == again.layout


@pytest.mark.parametrize("seed", range(8))
def test_circuits_at_random_are_right_whether_rows_or_not(seed: int) -> None:
    circuit = drawn_circuit(Random(seed), inputs=5, ands=8, outputs=2)
    assert build(circuit, rounds=1).status is Status.FOUND
