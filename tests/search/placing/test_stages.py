"""Two stages: cuts compute what was cut, pins keep off the seam."""

from __future__ import annotations

import random
import time

from hypothesis import given, settings
from hypothesis import strategies as st

from synth.medium import Direction, Joint
from synth.search import solve
from synth.search.placing.networks import MOST_INVERTERS
from synth.search.placing.stages import (
    Cut,
    can_be_cut,
    crossings,
    cuts,
    first_spec,
    inverters_beside,
    only_at,
    second_spec,
)
from synth.spec import BooleanFunction, Limits, PinDemand, Spec


def composed(cut: Cut, asked: BooleanFunction) -> dict[str, str]:
    """The outputs of both stages one behind the other, row by row."""
    columns: dict[str, str] = dict.fromkeys(asked.outputs, "")
    for bits in asked.assignments():
        values = dict(zip(asked.inputs, map(str, bits), strict=True))
        row = int("".join(values[name] for name in cut.first.inputs), 2)
        values |= {name: column[row] for name, column in cut.first.outputs.items()}
        row = int("".join(values[name] for name in cut.second.inputs), 2)
        for name, column in cut.second.outputs.items():
            columns[name] += column[row]
    return columns


@settings(max_examples=6)
@given(st.text("01", min_size=8, max_size=8), st.integers(2, 4))
def test_cuts_compute_what_was_cut(table: str, delay: int) -> None:
    asked = BooleanFunction(("a", "b", "c"), {"q": table})
    for cut in cuts(asked, delay):
        assert composed(cut, asked) == {"q": table}
        assert sum(cut.delays) == delay
        assert set(cut.first.inputs) | set(cut.second.inputs) >= set(asked.inputs)


def test_a_full_adder_is_cut_at_two_wires() -> None:
    asked = Spec.parse("s = a ^ b ^ c; co = a & b | a & c | b & c").function
    found = cuts(asked, 4)
    assert all(len(cut.crossing) == 2 for cut in found)
    hardest = [max(cut.connections) for cut in found]
    assert hardest == sorted(hardest)
    for cut in found:
        assert composed(cut, asked) == dict(asked.outputs)
        # Two bits of three things: the code left over is nobody's concern.
        assert any("-" in column for column in cut.second.outputs.values())


@settings(max_examples=2)
@given(st.text("01", min_size=8, max_size=8))
def test_what_the_stages_make_needs_no_inverters_beside_them(table: str) -> None:
    asked = BooleanFunction(("a", "b", "c"), {"q": table})
    for cut in cuts(asked, 4)[:4]:
        assert inverters_beside(cut, asked, 4) == 0


def test_what_is_to_be_added_tells_one_cut_from_another() -> None:
    asked = Spec.parse("s = a ^ b ^ c").function
    further = Spec.parse("s = a ^ b ^ c; co = a & b | a & c | b & c").function
    further = BooleanFunction(further.inputs, {"co": further.outputs["co"]})
    beside = {
        tuple(cut.first.outputs.values()): inverters_beside(cut, further, 4)
        for cut in cuts(asked, 4)
    }
    assert beside[("1001",)] < beside[("0110",)]
    late = time.monotonic() - 1
    assert inverters_beside(cuts(asked, 4)[0], further, 4, late) == MOST_INVERTERS


def test_time_that_is_over_ends_the_cutting() -> None:
    asked = Spec.parse("s = a ^ b ^ c").function
    assert cuts(asked, 4, until=time.monotonic() - 1) == []


def test_only_the_first_of_very_many_codes_are_made() -> None:
    generator = random.Random(3)
    columns = {name: "".join(generator.choices("01", k=32)) for name in ("s", "t")}
    # Four of the inputs affect the outputs in 9 to 15 ways: more codes than fit any memory.
    asked = BooleanFunction(("a", "b", "c", "d", "e"), columns)
    assert cuts(asked, 4, until=time.monotonic() - 1) == []


def test_crossing_wires_have_names_of_their_own() -> None:
    asked = BooleanFunction(("m1", "b", "c"), {"m2": "01101001"})
    for cut in cuts(asked, 4):
        assert not set(cut.crossing) & {"m1", "b", "c", "m2"}


def test_pins_stay_off_the_seam() -> None:
    spec = Spec.parse("q = a ^ b ^ c", stack="y", joint="buffer", delay=4)
    cut = cuts(spec.function, 4)[0]
    first = first_spec(spec, cut)
    for name in cut.first.inputs:
        assert first.faces(name) == (Direction.NX,)
        assert first.joint(name) is Joint.BUFFER
    for name in cut.crossing:
        assert first.faces(name) == (Direction.PX,)
        assert first.joint(name) is Joint.WIRE


def test_inputs_are_in_the_stage_that_is_asked() -> None:
    function = Spec.parse("q = a ^ b ^ c").function
    every = {cut.first.inputs for cut in cuts(function, 4)}
    assert len(every) == 1  # All bound sets are alike.
    for name in function.inputs:
        found = cuts(function, 4, in_first=[name])
        assert found
        assert all(name in cut.first.inputs for cut in found)
        found = cuts(function, 4, in_second=[name])
        assert found
        assert all(name not in cut.first.inputs for cut in found)
    assert cuts(function, 4, in_first=["a", "b", "c"]) == []


def test_an_input_at_one_end_alone_is_in_the_stage_there() -> None:
    spec = Spec.parse("q = a & b & c", stack="y")
    pins = {**spec.pins, "a": PinDemand((Direction.NX,)), "c": PinDemand((Direction.PX,))}
    asked = spec.replace(pins=pins)
    assert can_be_cut(asked)
    assert only_at(asked, Direction.NX) == ("a",)
    assert only_at(asked, Direction.PX) == ("c",)


def test_what_cannot_be_cut_is_left_alone() -> None:
    assert can_be_cut(Spec.parse("q = a & b & c", stack="y"))
    assert not can_be_cut(Spec.parse("q = a & b", stack="y"))
    assert not can_be_cut(Spec.parse("q = a & b & c", stack="x"))
    assert not can_be_cut(Spec.parse("q = a & b & c", output_faces=["-x"]))


AND_3 = Spec.parse("q = a & b & c", stack="y", joint="buffer", delay=4)


def test_the_second_stage_hears_the_first_where_it_speaks() -> None:
    cut = cuts(AND_3.function, 4)[0]
    spec = first_spec(AND_3, cut)
    outcome = solve(
        spec.replace(limits=Limits(length=2, width=2, height=4, delay=cut.delays[0])), workers=1
    )
    assert outcome.layout is not None
    second = second_spec(AND_3, cut, crossings(outcome.layout, cut))
    for pin in outcome.layout.outputs:
        assert second.pins[pin.name].at == (0, *pin.at[1:])
