"""The drawing of a layout: everything in it can be read back from the page."""

from __future__ import annotations

import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from synth.layout import Layout, Pin
from synth.layout.drawing.frames import drawn_mark, pin_marks
from synth.layout.drawing.glyphs import EMPTY_GLYPH, glyph
from synth.medium import Block, Cell, Direction, Role
from synth.views.text.layers import beside, layers_text, layout_text
from synth.words import WIDTH
from tests.views.golden import check_golden
from tests.views.layouts import BLOCKS, EMPTY, INVERTER_CHAIN, LONG, SLOW, layouts

TITLE = re.compile(r"z = (\d+)(?:, x = (\d+) to (\d+))?")


@pytest.mark.parametrize(
    ("name", "layout"),
    [("inverter_chain", INVERTER_CHAIN), ("long", LONG), ("empty", EMPTY), ("slow", SLOW)],
)
def test_drawing_is_the_golden_one(name: str, layout: Layout) -> None:
    check_golden(name, layout_text(layout))


def test_every_block_has_a_glyph_of_its_own() -> None:
    glyphs = [glyph(block) for block in BLOCKS] + [EMPTY_GLYPH]
    assert len(set(glyphs)) == len(glyphs)
    assert all(len(pair) == 2 and pair.isascii() for pair in glyphs)


@given(layouts())
def test_parts_can_be_read_back(layout: Layout) -> None:
    meaning = {glyph(block): block for block in BLOCKS}
    assert read_layers(layers_text(layout), meaning) == dict(layout.cells)


@given(layouts())
def test_pages_are_ascii_and_keep_their_width(layout: Layout) -> None:
    lines = layout_text(layout).split("\n")
    drawing = layers_text(layout).split("\n")
    assert all(line.isascii() and line == line.rstrip() for line in lines)
    assert max(map(len, drawing)) <= WIDTH


@given(layouts())
def test_every_pin_is_drawn_and_listed(layout: Layout) -> None:
    page = layout_text(layout)
    marks = pin_marks(layout)
    for pin in layout.pins:
        listed = page.partition("\nPins\n")[2]
        line = next(line for line in listed.split("\n") if f"  {pin.name}  " in line)
        assert line.split() == [
            marks[pin.name], drawn_mark(pin, "").strip(), pin.name, str(pin.role),
            "cell", *str(list(pin.at)).split(), "face", str(pin.face), "joint", str(pin.joint),
        ]  # fmt: skip
    outside = re.sub(r"\|.*?\|", "", layers_text(layout))
    for mark in set(marks.values()):
        drawn = len(re.findall(rf"(?<!\w){re.escape(mark)}(?!\w)", outside))
        assert drawn == list(marks.values()).count(mark)


@given(st.lists(st.from_regex(r"[A-Za-z_][A-Za-z0-9_]{0,5}", fullmatch=True), unique=True))
def test_marks_of_pins_are_no_parts_and_short_names_stay_whole(names: list[str]) -> None:
    pins = tuple(Pin(name, Role.INPUT, (0, y, 0), Direction.NX) for y, name in enumerate(names))
    marks = pin_marks(Layout((1, max(1, len(names)), 1), {}, pins))
    parts = {glyph(block) for block in BLOCKS} | {EMPTY_GLYPH}
    for name in names:
        assert len(name) > 2 or marks[name] == name
        assert 1 <= len(marks[name]) <= 2
        assert marks[name][0] == name[0]
        assert f"{marks[name]}>"[:2] not in parts


def test_axes_are_named_so_that_no_pin_can_be_taken_for_one() -> None:
    pins = (
        Pin("x", Role.INPUT, (0, 0, 0), Direction.NX),
        Pin("y", Role.OUTPUT, (0, 1, 0), Direction.PY),
    )
    page = layers_text(Layout((1, 2, 1), {}, pins))
    assert page.split("\n") == [
        "z = 0",
        "x =      0",
        "         y",
        "         ^",
        "y =   +----+",
        "  1   |  . |",
        "  0 x>|  . |",
        "      +----+",
    ]


def test_blocks_stand_side_by_side_only_while_they_fit() -> None:
    block = ["12345"]
    assert beside([block, block, block], width=13) == "12345   12345\n\n12345"
    assert beside([block, block], width=12) == "12345\n\n12345"


def test_lines_kept_for_pins_are_left_out_of_rows_without_such_pins() -> None:
    pins = (Pin("y", Role.OUTPUT, (0, 0, 1), Direction.PY),)
    high = Layout((1, 1, 2), {}, pins)
    below, above = layers_text(high, width=12).split("\n\n")
    assert [line.strip() for line in below.split("\n")][1:3] == ["x =    0", "y = +----+"]
    assert [line.strip() for line in above.split("\n")][2:4] == ["y", "^"]
    assert all(line.strip() for line in layers_text(high, width=80).split("\n"))


def read_layers(page: str, meaning: dict[str, Block]) -> dict[Cell, Block]:
    """Read a drawing the way a person does: by titles, frames and the numbers of rows."""
    cells: dict[Cell, Block] = {}
    for row in re.split(r"\n\n(?=z = )", page):
        lines = row.split("\n")
        titles = [(match.start(), match) for match in TITLE.finditer(lines[0])]
        starts = [start for start, _ in titles] + [WIDTH + 1]
        for (start, title), stop in zip(titles, starts[1:], strict=False):
            for line in lines[1:]:
                found = re.match(r" *(\d+) *\S*? *\|(.*?)\|", line[start:stop])
                if found is None:
                    continue
                first_x = int(title[2] or 0)
                pairs = [found[2][at : at + 2] for at in range(1, len(found[2]) - 1, 3)]
                for x, pair in enumerate(pairs, first_x):
                    if pair != EMPTY_GLYPH:
                        cells[(x, int(found[1]), int(title[1]))] = meaning[pair]
    return cells
