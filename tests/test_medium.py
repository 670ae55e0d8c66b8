"""What the medium is made of, its page, and rule tables."""

from __future__ import annotations

import re
from importlib import resources
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from synth.errors import InputError
from synth.medium import (
    ALL_DIRECTIONS,
    DEFAULT_RULES,
    HOST_DIRECTIONS,
    LEVEL_DIRECTIONS,
    RULE_TEXT,
    Block,
    Direction,
    Joint,
    Part,
    RuleId,
    Rules,
    buffer,
    inverter,
)
from synth.medium_document import load_rules, read_rules

PAGE = (resources.files("synth") / "medium.md").read_text(encoding="utf-8")
directions = st.sampled_from(ALL_DIRECTIONS)
cells = st.tuples(*[st.integers(-9, 9)] * 3)


def test_the_page_has_its_eleven_sections() -> None:
    numbers = re.findall(r"^## (\d+)\. ", PAGE, re.MULTILINE)
    assert numbers == [str(number) for number in range(1, 12)]


def test_the_page_says_where_its_numbers_come_from() -> None:
    words = " ".join(PAGE.split())
    assert "common practice among people who build signal logic out of blocks" in words
    assert "Common practice, no published source" in words


def test_the_page_names_every_part_and_joint() -> None:
    for part in Part:
        assert f"| `{part}`" in PAGE
    for joint in Joint:
        assert f"- joint `{joint}`" in PAGE


def test_sections_named_in_docstrings_are_on_the_page() -> None:
    root = Path(__file__).resolve().parent.parent
    for path in (root / "synth").rglob("*.py"):
        text = path.read_text(encoding="utf-8")
        for number in re.findall(r"\(section (\d+)\)", text):
            assert f"\n## {number}. " in PAGE, f"{path.name} names section {number}"


def test_the_numbers_of_the_rule_table_are_those_of_the_page() -> None:
    """Section 2: reach = 15, delays 1, 2, 3 or 4; common practice, no published source."""
    assert f"`reach` = {DEFAULT_RULES.reach} *(parameter)*" in PAGE
    assert "delay = 1, 2, 3 or 4 *(parameter)*" in PAGE
    assert Rules(15, (1, 2, 3, 4)) == DEFAULT_RULES


@given(directions, cells)
def test_opposite_leads_back(direction: Direction, cell: tuple[int, int, int]) -> None:
    assert direction.opposite.step(direction.step(cell)) == cell
    assert direction.opposite.opposite is direction


@given(directions, cells)
def test_a_step_is_one_cell_along_the_axis(
    direction: Direction, cell: tuple[int, int, int]
) -> None:
    change = [there - here for here, there in zip(cell, direction.step(cell), strict=True)]
    assert change == [int(f"{direction}1"[0] + "1") * (axis == direction.axis) for axis in "xyz"]


@pytest.mark.parametrize("direction", LEVEL_DIRECTIONS)
def test_sides_are_level_and_at_right_angles(direction: Direction) -> None:
    left, right = direction.sides
    assert left.opposite is right
    assert left.level
    assert left.axis != direction.axis


def test_which_directions_there_are() -> None:
    assert [str(way) for way in ALL_DIRECTIONS] == ["+x", "-x", "+y", "-y", "+z", "-z"]
    assert {way for way in ALL_DIRECTIONS if way.level} == set(LEVEL_DIRECTIONS)
    assert set(HOST_DIRECTIONS) == {*LEVEL_DIRECTIONS, Direction.NZ}
    assert sorted(set(ALL_DIRECTIONS)) == list(ALL_DIRECTIONS)


def test_blocks_that_cannot_be() -> None:
    with pytest.raises(ValueError, match=r"an inverter hangs on a level direction or -z"):
        inverter(Direction.PZ)
    with pytest.raises(ValueError, match="a buffer points in a level direction"):
        buffer(Direction.NZ)
    with pytest.raises(ValueError, match="a buffer has a delay of at least 1 tick, not 0"):
        buffer(Direction.PX, 0)
    with pytest.raises(ValueError, match="a solid has no facing"):
        Block(Part.SOLID, Direction.PX)
    with pytest.raises(ValueError, match="a wire has no delay"):
        Block(Part.WIRE, None, 1)


def test_every_rule_has_a_sentence() -> None:
    assert set(RULE_TEXT) == set(RuleId)
    assert all(RULE_TEXT.values())


def test_rule_tables_are_read(tmp_path: Path) -> None:
    path = tmp_path / "rules.toml"
    path.write_text("reach = 7\nbuffer_delays = [4, 2]\n")
    assert load_rules(path) == Rules(7, (2, 4))
    path.write_text("")
    assert load_rules(path) == DEFAULT_RULES
    path.write_text("reach = 3")
    assert load_rules(path) == Rules(reach=3)


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("raech = 3", "unknown key 'raech'; did you mean 'reach'? the keys here are reach, buffer"),
        ("reach = 0", "reach: 0 is too small; use a whole number from 1"),
        ("reach = 1.5", "reach: 1.5 is no whole number"),
        ("reach = true", "reach: True is no whole number"),
        ("buffer_delays = 3", "buffer_delays: 3 is no list"),
        ("buffer_delays = []", "buffer_delays: an empty list of delays; use one tick or more"),
        ("buffer_delays = [1, 0]", "buffer_delays[1]: 0 is too small; use a whole number from 1"),
        ("reach = ", "line 1, column 9: not TOML: "),
    ],
)
def test_what_is_wrong_in_a_rule_table(text: str, message: str, tmp_path: Path) -> None:
    path = tmp_path / "rules.toml"
    path.write_text(text)
    with pytest.raises(InputError) as caught:
        load_rules(path)
    assert str(caught.value).startswith(f"{path}: {message}")


def test_a_rule_table_from_a_document() -> None:
    assert read_rules({"reach": 2, "buffer_delays": [1]}) == Rules(2, (1,))
