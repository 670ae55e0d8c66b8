"""Section 7: what is forbidden outright, and play in rows of every length."""

from __future__ import annotations

from random import Random

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from synth.layout import Layout, Pin, Stack
from synth.medium import AXES, CLEAR, LEDGE, SOLID, WIRE, Block, Cell, RuleId
from synth.simulator import check, trace
from synth.spec import BooleanFunction, Limits, Spec, StackDemand
from tests.reading.random_layouts import legal_layouts, random_drive
from tests.simulator.build import STANDING, box, enters, hung, leaves, to


def stack_rules(layout: Layout) -> set[tuple[RuleId, Cell]]:
    """Rules of section 7 that are broken, with cells; the verdict must agree."""
    verdict = check(layout)
    assert verdict.legal
    found = {(fault.rule, fault.at) for fault in verdict.faults}
    assert verdict.stacks == (not found)
    return found


def test_section_7_no_wire_is_linked_to_one_of_another_copy() -> None:
    cells = {(0, 0, 0): WIRE, (0, 1, 0): WIRE}
    layout = box((1, 2, 1), cells, ground=True, stack=Stack("y", 2))
    assert (RuleId.STACK_LINK, (0, 1, 0)) in stack_rules(layout)
    assert not stack_rules(layout.replace(stack=Stack("y", 3)))


def test_section_7_nor_by_a_diagonal() -> None:
    cells = {(0, 0, 0): WIRE, (0, 1, 0): CLEAR, (0, 1, 1): WIRE}
    layout = box((1, 2, 2), cells, ground=True, stack=Stack("y", 2))
    assert (RuleId.STACK_LINK, (0, 1, 1)) in stack_rules(layout)
    cut = layout.with_cells({(0, 0, 1): SOLID})
    assert not stack_rules(cut)


def test_section_7_leads_are_wires_of_their_copy() -> None:
    cells = {(0, 0, 0): LEDGE, (0, 0, 1): WIRE}
    layout = box((1, 1, 2), cells, enters("a", (0, 0, 0), "-x"), stack=Stack("z", 2))
    # The wire at height 1 lies one step below and beside the lead of the next copy, and the
    # pin's cell between them holds a ledge: linked.
    assert (RuleId.STACK_LINK, (0, 0, 1)) in stack_rules(layout)
    assert not stack_rules(layout.replace(stack=Stack("z", 3)))


@pytest.mark.parametrize("block", [STANDING, hung("-y"), hung("+x")])
def test_section_7_no_inverter_has_a_wire_of_another_copy_beside_it(block: Block) -> None:
    cells: dict[Cell, Block] = {(0, 2, 1): block, (0, 0, 1): WIRE, (0, 0, 0): CLEAR}
    cells |= {(0, 2, 0): SOLID, (0, 1, 1): SOLID, (1, 2, 1): SOLID}
    layout = box((2, 3, 2), cells, stack=Stack("y", 3))
    assert (RuleId.STACK_INVERTER, (0, 2, 1)) in stack_rules(layout)
    assert not stack_rules(layout.replace(stack=Stack("y", 4)))


def test_section_7_no_inverter_has_a_wire_of_another_copy_below_it() -> None:
    cells = {(0, 0, 0): hung("+x"), (1, 0, 0): SOLID, (0, 0, 1): LEDGE, (0, 0, 2): WIRE}
    layout = box((2, 1, 3), cells, stack=Stack("z", 3))
    assert stack_rules(layout) == {(RuleId.STACK_INVERTER, (0, 0, 0))}


@pytest.mark.parametrize(("facing", "at"), [("+y", 1), ("-y", 1), ("+y", 0), ("-y", 0)])
def test_section_7_no_buffer_has_its_back_or_front_in_another(facing: str, at: int) -> None:
    layout = box((1, 2, 1), {(0, at, 0): to(facing)}, ground=True, stack=Stack("y", 2))
    assert stack_rules(layout) == {(RuleId.STACK_BUFFER, (0, at, 0))}
    # In the gap of a larger pitch there is no other copy.
    assert not stack_rules(layout.replace(stack=Stack("y", 3)))
    assert not stack_rules(layout.replace(stack=Stack("x", 1)))


@pytest.mark.parametrize(("face", "axis"), [("+x", "x"), ("-y", "y")])
def test_section_7_no_pin_faces_along_the_axis(face: str, axis: str) -> None:
    layout = box((1, 1, 1), {}, leaves("q", (0, 0, 0), face), stack=Stack(axis, 1))
    assert stack_rules(layout) == {(RuleId.STACK_PIN, (0, 0, 0))}


def test_section_7_a_layout_on_ground_does_not_stack_along_z() -> None:
    layout = box((1, 1, 2), {(0, 0, 0): WIRE, (0, 0, 1): SOLID}, ground=True, stack=Stack("z", 2))
    assert stack_rules(layout) == {
        (RuleId.STACK_GROUND, (0, 0, 0)),
        (RuleId.STACK_SUPPORT, (0, 0, 0)),
    }


def test_section_7_the_pitch_is_never_less_than_the_size() -> None:
    layout = box((1, 3, 1), {(0, 0, 0): SOLID}, stack=Stack("y", 2))
    assert stack_rules(layout) == {(RuleId.STACK_PITCH, (0, 0, 0))}


def charging() -> Layout:
    """Two wires along y, the second of which runs into the next copy's host; q is its inverter."""
    cells = {
        (0, 2, 0): LEDGE,
        (0, 2, 1): WIRE,
        (0, 3, 0): LEDGE,
        (0, 3, 1): WIRE,
        (0, 0, 1): SOLID,
        (1, 0, 1): hung("-x"),
    }
    pins = enters("a", (0, 2, 1), "-x"), leaves("q", (1, 0, 1), "+x")
    return box((2, 4, 2), cells, *pins, stack=Stack("y", 4))


def test_section_7_a_wire_that_runs_into_the_next_copys_host_does_harm() -> None:
    verdict = check(charging())
    assert (verdict.outputs, verdict.delay, verdict.stacks) == ({"q": "11"}, 1, False)
    (fault,) = verdict.faults
    assert fault.rule is RuleId.STACK_FUNCTION
    assert fault.at == (1, 0, 1)
    assert fault.text == "copy 2 of a row of 2 does not meet 1 tick: output 'q' at a=0 reads x"
    assert check(charging().replace(stack=Stack("y", 5))).stacks is True


def test_section_7_without_harm_a_crossing_is_no_fault() -> None:
    """The host is charged in any case: by a wire on it, which an inverter beside it powers."""
    layout = charging().replace(size=(2, 4, 3))
    always = {(0, 0, 2): WIRE, (1, 0, 2): hung("+y"), (1, 1, 2): SOLID, (0, 3, 2): SOLID}
    verdict = check(layout.with_cells(always))
    assert (verdict.outputs, verdict.delay, verdict.stacks) == ({"q": "00"}, 2, True)


def test_section_7_a_driven_solid_powers_the_next_copys_wire() -> None:
    cells = {(0, 2, 0): SOLID, (0, 0, 0): WIRE}
    pins = enters("a", (0, 2, 0), "-x", "buffer"), leaves("q", (0, 0, 0), "+x")
    layout = box((1, 3, 1), cells, *pins, ground=True, stack=Stack("y", 3))
    assert check(layout).stacks is False
    assert check(layout.replace(stack=Stack("y", 4))).stacks is True


def test_section_7_an_inverter_drives_the_solid_of_the_copy_above() -> None:
    cells = {(0, 0, 1): hung("+x"), (1, 0, 1): SOLID, (0, 0, 0): SOLID}
    pins = enters("a", (1, 0, 1), "+x"), leaves("q", (0, 0, 0), "-x")
    layout = box((2, 1, 2), cells, *pins, stack=Stack("z", 2))
    verdict = check(layout)
    assert (verdict.outputs, verdict.stacks) == ({"q": "00"}, False)
    assert check(layout.replace(stack=Stack("z", 3))).stacks is True


def test_section_7_what_a_fixed_neighbour_surely_does_is_not_there_at_the_end_of_a_row() -> None:
    """A host that only the next copy would charge: alone and at the end it is not."""
    layout = charging().replace(pins=(leaves("q", (1, 0, 1), "+x"),))
    # The wire is powered for good by an inverter of its own copy.
    layout = layout.with_cells({(1, 2, 1): hung("+y"), (1, 3, 1): SOLID})
    verdict = check(layout)
    assert (verdict.outputs, verdict.delay, verdict.stacks) == ({"q": "1"}, 1, False)


def test_section_7_a_layout_that_meets_no_delay_does_not_stack() -> None:
    pins = enters("a", (0, 0, 0), "-x"), enters("b", (0, 0, 0), "+x")
    layout = box((1, 1, 1), {(0, 0, 0): WIRE}, *pins, ground=True, stack=Stack("y", 2))
    verdict = check(layout)
    assert (verdict.delay, verdict.stacks) == (None, False)


def test_section_7_asked_by_the_specification_alone() -> None:
    layout = charging().replace(stack=None)
    function = BooleanFunction(("a",), {"q": "11"})
    assert check(layout, Spec(function)).stacks is None
    assert check(layout, Spec(function, stack=StackDemand("y"))).stacks is False
    assert check(layout, Spec(function, stack=StackDemand("y", 5))).stacks is True
    assert check(layout, Spec(function, stack=StackDemand("x"))).stacks is False


def test_section_7_every_copy_meets_the_delay_asked() -> None:
    layout = charging().replace(stack=Stack("y", 5))
    spec = Spec(BooleanFunction(("a",), {"q": "11"}), Limits(delay=0))
    verdict = check(layout, spec)
    assert (verdict.delay, verdict.stacks, verdict.function) == (1, False, True)
    assert {fault.rule for fault in verdict.faults} == {RuleId.DELAY, RuleId.STACK_FUNCTION}
    assert check(layout, spec, delay=1).passes


def row_of(layout: Layout, copies: int) -> Layout:
    """Copies side by side as one large layout, written out here and by nothing else."""
    assert layout.stack is not None
    axis, pitch = AXES.index(layout.stack.axis), layout.stack.pitch

    def moved(cell: Cell, copy: int) -> Cell:
        x, y, z = (value + copy * pitch * (place == axis) for place, value in enumerate(cell))
        return (x, y, z)

    length, width, height = (
        cells + (copies - 1) * pitch * (place == axis) for place, cells in enumerate(layout.size)
    )
    return Layout(
        (length, width, height),
        {
            moved(cell, copy): block
            for copy in range(copies)
            for cell, block in layout.cells.items()
        },
        tuple(
            Pin(f"{pin.name}_{copy}", pin.role, moved(pin.at, copy), pin.face, pin.joint)
            for copy in range(copies)
            for pin in layout.pins
        ),
        ground=layout.ground,
    )


@settings(max_examples=150)
@given(legal_layouts((3, 3, 3), stack=True), st.integers(1, 4), st.randoms(use_true_random=False))
def test_section_7_what_stacks_works_in_a_row_whatever_the_others_do(
    layout: Layout, copies: int, rng: Random
) -> None:
    """Plain play of 1 to 4 copies, all inputs switching at moments of their own.

    Wherever the inputs of one copy have stood still for ``delay`` ticks, its outputs are what
    a copy alone settles at.
    """
    verdict = check(layout)
    if not verdict.stacks:
        return
    assert verdict.delay is not None
    assert verdict.outputs is not None
    row = row_of(layout, copies)
    words = random_drive(rng, row, 40)
    document = trace(row, words, 40)
    for copy in range(copies):
        names = [pin.name for pin in layout.inputs]
        played = [document["inputs"][f"{name}_{copy}"] for name in names]
        still = 0
        for tick in range(40):
            now = "".join(word[tick] for word in played)
            changed = tick > 0 and now != "".join(word[tick - 1] for word in played)
            still = 0 if changed else still + (tick > 0)
            if still >= verdict.delay:
                for name, column in verdict.outputs.items():
                    read = document["outputs"][f"{name}_{copy}"][tick]
                    assert read == column[int(now or "0", 2)]
