"""The drawing of a layout: everything in it can be read back from the page."""

from __future__ import annotations

import re

import pytest
from hypothesis import given

from synth.layout import Layout
from synth.medium import Block, Cell
from synth.views.text.layers import (
    EMPTY_GLYPH,
    WIDTH,
    beside,
    glyph,
    layers_text,
    layout_text,
    pin_marks,
)
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
        line = next(line for line in page.split("\n") if f"  {pin.name}  " in line)
        assert line.split() == [
            marks[pin.name], pin.name, str(pin.role),
            "cell", *str(list(pin.at)).split(), "face", str(pin.face), "joint", str(pin.joint),
        ]  # fmt: skip
    outside = re.sub(r"\|.*?\|", "", layers_text(layout))
    for mark in set(marks.values()):
        drawn = len(re.findall(re.escape(mark), outside))
        assert drawn == list(marks.values()).count(mark)


def test_blocks_stand_side_by_side_only_while_they_fit() -> None:
    block = ["12345"]
    assert beside([block, block, block], width=13) == "12345   12345\n\n12345"
    assert beside([block, block], width=12) == "12345\n\n12345"


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
