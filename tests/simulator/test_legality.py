"""Sections 2, 6 and 8: what the simulator refuses, with the rule and the cell."""

from __future__ import annotations

import pytest

from synth.errors import InputError
from synth.layout import Layout, Stack
from synth.medium import CLEAR, LEDGE, SOLID, WIRE, Block, Cell, RuleId, Rules
from synth.simulator import check, legality, settle, trace
from tests.simulator.build import STANDING, box, enters, hung, leaves, to


def rules_broken(layout: Layout) -> list[tuple[RuleId, Cell]]:
    return [(fault.rule, fault.at) for fault in legality(layout)]


@pytest.mark.parametrize("under", [SOLID, CLEAR, LEDGE])
def test_section_2_a_wire_rests_on_solid_clear_or_ledge(under: Block) -> None:
    assert not legality(box((1, 1, 2), {(0, 0, 0): under, (0, 0, 1): WIRE}))


@pytest.mark.parametrize("under", [None, WIRE, to("+x"), STANDING])
def test_section_2_a_wire_rests_on_nothing_else(under: Block | None) -> None:
    cells = {(0, 0, 0): SOLID, (0, 0, 2): WIRE}
    if under is not None:
        cells[0, 0, 1] = under
    assert rules_broken(box((1, 1, 3), cells)) == [(RuleId.SUPPORT, (0, 0, 2))]


@pytest.mark.parametrize("under", [SOLID, LEDGE])
def test_section_2_a_buffer_rests_on_solid_or_ledge(under: Block) -> None:
    assert not legality(box((1, 1, 2), {(0, 0, 0): under, (0, 0, 1): to("+y")}))


def test_section_2_a_buffer_does_not_rest_on_clear() -> None:
    layout = box((1, 1, 2), {(0, 0, 0): CLEAR, (0, 0, 1): to("+y")})
    assert rules_broken(layout) == [(RuleId.SUPPORT, (0, 0, 1))]
    assert "a clear under it" in legality(layout)[0].text


@pytest.mark.parametrize("host", [None, CLEAR, LEDGE])
def test_section_2_an_inverter_hangs_on_a_solid(host: Block | None) -> None:
    cells = {(1, 0, 0): hung("-x")}
    if host is not None:
        cells[0, 0, 0] = host
    assert rules_broken(box((2, 1, 1), cells)) == [(RuleId.HOST, (1, 0, 0))]
    assert not legality(box((2, 1, 1), {(0, 0, 0): SOLID, (1, 0, 0): hung("-x")}))


def test_section_2_a_host_lies_inside_the_box() -> None:
    assert rules_broken(box((1, 1, 1), {(0, 0, 0): hung("-x")})) == [(RuleId.HOST, (0, 0, 0))]


def test_section_2_blocks_float() -> None:
    cells = {(0, 0, 3): SOLID, (0, 0, 1): CLEAR, (1, 0, 2): LEDGE}
    assert not legality(box((2, 1, 4), cells))


def test_section_2_delays_are_those_of_the_rule_table() -> None:
    layout = box((1, 1, 2), {(0, 0, 0): SOLID, (0, 0, 1): to("+x", 5)})
    assert rules_broken(layout) == [(RuleId.BUFFER_DELAY, (0, 0, 1))]
    assert not legality(layout, Rules(buffer_delays=(1, 5)))


def test_section_8_ground_carries_wires_and_buffers() -> None:
    cells = {(0, 0, 0): WIRE, (1, 0, 0): to("+x")}
    assert rules_broken(box((2, 1, 1), cells)) == [
        (RuleId.SUPPORT, (0, 0, 0)),
        (RuleId.SUPPORT, (1, 0, 0)),
    ]
    assert not legality(box((2, 1, 1), cells, ground=True))


def test_section_8_an_inverter_never_stands_on_ground() -> None:
    layout = box((1, 1, 1), {(0, 0, 0): STANDING}, ground=True)
    assert rules_broken(layout) == [(RuleId.HOST, (0, 0, 0))]


def test_section_6_one_face_carries_one_pin_a_corner_two() -> None:
    same = box((1, 1, 1), {}, enters("a", (0, 0, 0), "-x"), leaves("q", (0, 0, 0), "-x", "buffer"))
    assert rules_broken(same) == [(RuleId.PIN_FACE, (0, 0, 0))]
    assert not legality(
        box((1, 1, 1), {}, enters("a", (0, 0, 0), "-x"), leaves("q", (0, 0, 0), "-y"))
    )


@pytest.mark.parametrize("joints", [("wire", "wire"), ("wire", "buffer"), ("buffer", "buffer")])
@pytest.mark.parametrize(("gap", "fine"), [(1, False), (2, True)])
def test_section_6_pins_of_one_lane(joints: tuple[str, str], gap: int, fine: bool) -> None:
    layout = box(
        (1, 1, 3),
        {},
        enters("a", (0, 0, 0), "-x", joints[0]),
        enters("b", (0, 0, gap), "-x", joints[1]),
    )
    expected = [] if fine else [(RuleId.PIN_SPACING, (0, 0, gap))]
    assert rules_broken(layout) == expected


@pytest.mark.parametrize(
    ("joints", "lane", "height", "fine"),
    [
        (("wire", "wire"), 1, 0, False),
        (("wire", "wire"), 1, 1, False),
        (("wire", "wire"), 1, 2, True),
        (("wire", "wire"), 2, 0, True),
        (("wire", "buffer"), 1, 0, True),
        (("buffer", "wire"), 1, 1, True),
        (("buffer", "buffer"), 1, 0, True),
    ],
)
@pytest.mark.parametrize("face", ["-x", "+y"])
def test_section_6_pins_of_different_lanes(
    face: str, joints: tuple[str, str], lane: int, height: int, fine: bool
) -> None:
    at = (0, lane, height) if face == "-x" else (lane, 2, height)
    start = (0, 0, 0) if face == "-x" else (0, 2, 0)
    pins = enters("a", start, face, joints[0]), leaves("q", at, face, joints[1])
    broken = rules_broken(box((3, 3, 3), {}, *pins))
    assert broken == ([] if fine else [(RuleId.PIN_SPACING, at)])


def test_section_6_pins_of_different_sides_never_touch() -> None:
    pins = enters("a", (0, 0, 0), "-x"), enters("b", (0, 0, 0), "+x"), leaves("q", (0, 0, 0), "+y")
    assert not legality(box((1, 1, 1), {}, *pins))


@pytest.mark.parametrize(
    ("axis", "pitch", "fine"), [("y", 1, False), ("y", 2, True), ("z", 1, False), ("z", 2, True)]
)
def test_section_6_distances_hold_between_copies(axis: str, pitch: int, fine: bool) -> None:
    layout = box((1, 1, 1), {}, enters("a", (0, 0, 0), "-x"), stack=Stack(axis, pitch))
    assert rules_broken(layout) == ([] if fine else [(RuleId.PIN_SPACING, (0, 0, 0))])


def test_an_illegal_layout_has_no_other_findings() -> None:
    layout = box((1, 1, 1), {(0, 0, 0): WIRE}, leaves("q", (0, 0, 0), "+x"), stack=Stack("y", 1))
    verdict = check(layout)
    assert not verdict.legal
    assert not verdict.passes
    assert verdict.faults[0].rule is RuleId.SUPPORT
    found = (verdict.function, verdict.delay, verdict.stacks, verdict.outputs)
    assert found == (None, None, None, None)


def test_an_illegal_layout_is_neither_played_nor_settled() -> None:
    layout = box((2, 1, 1), {(1, 0, 0): WIRE}, enters("a", (0, 0, 0), "-x"))
    message = r"not legal: rule support at \[1, 0, 0\]: the wire at \[1, 0, 0\] has nothing under"
    with pytest.raises(InputError, match=message):
        trace(layout, {"a": "1"})
    with pytest.raises(InputError, match=message):
        settle(layout)
