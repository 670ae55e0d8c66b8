"""Drawings are well formed, show every part, and can be read without telling colours apart."""

from __future__ import annotations

from xml.etree import ElementTree

import pytest
from hypothesis import given, settings

from synth.layout import Layout
from synth.medium import LEVEL_DIRECTIONS
from synth.views.drawing import palette
from synth.views.drawing.isometric import isometric_picture
from synth.views.drawing.layers import LayerDrawer, Step, layers_picture
from synth.views.drawing.shapes import boxes_of
from synth.views.drawing.sheet import sheet_picture
from synth.views.drawing.svg import number
from synth.views.drawing.symbols import symbol
from tests.views.layouts import BLOCKS, EMPTY, INVERTER_CHAIN, LONG, SLOW, layouts


@given(layouts())
@settings(max_examples=25)
def test_every_drawing_is_well_formed(layout: Layout) -> None:
    for picture in (layers_picture(layout), isometric_picture(layout), sheet_picture(layout)):
        root = ElementTree.fromstring(picture.document('<a> & "b"').encode())
        assert root.tag == "{http://www.w3.org/2000/svg}svg"
        assert picture.width > 0
        assert picture.height > 0
        assert not any("id" in element.attrib for element in root.iter())


@pytest.mark.parametrize("layout", [EMPTY, INVERTER_CHAIN, LONG, SLOW])
def test_everything_lies_on_the_sheet(layout: Layout) -> None:
    """Names of pins, the furthest out, start and end within the picture of a layer."""
    drawer = LayerDrawer(layout)
    width, height = drawer.size
    for z in range(layout.height):
        root = ElementTree.fromstring(drawer.layer(z).document("layer").encode())
        for element in root.iter("{http://www.w3.org/2000/svg}text"):
            if "transform" not in element.attrib:
                assert 0 <= float(element.attrib["x"]) <= width
                assert 0 <= float(element.attrib["y"]) <= height


def test_every_block_has_a_symbol_and_a_shape_of_its_own() -> None:
    assert len({symbol(block) for block in BLOCKS}) == len(BLOCKS)
    assert len({boxes_of(block) for block in BLOCKS}) == len(BLOCKS)


def test_shapes_stay_in_their_cell() -> None:
    for block in BLOCKS:
        for box in boxes_of(block, LEVEL_DIRECTIONS, LEVEL_DIRECTIONS):
            for low, high in zip(box.low, box.high, strict=True):
                assert -1e-9 <= low < high <= 1 + 1e-9


def test_a_step_shows_what_is_there_and_numbers_what_is_new() -> None:
    drawer = LayerDrawer(INVERTER_CHAIN)
    new = {(2, 0, 1): 41, (2, 1, 1): 42}
    body = drawer.layer(1, Step(frozenset({(1, 0, 1)}), new)).body
    assert ">41<" in body
    assert ">42<" in body
    whole = drawer.layer(1).body
    assert symbol(INVERTER_CHAIN.cells[(1, 1, 1)]) in whole
    assert symbol(INVERTER_CHAIN.cells[(1, 1, 1)]) not in body


def test_contrast_is_that_of_the_published_formula() -> None:
    """WCAG 2.2: black on white is 21 to 1, #767676 on white 4.54 to 1 (its techniques, G18)."""
    assert palette.contrast("#000000", "#ffffff") == pytest.approx(21)
    assert palette.contrast("#767676", "#ffffff") == pytest.approx(4.54, abs=0.01)


@pytest.mark.parametrize(
    ("line", "behind"),
    [
        (palette.INK, palette.PAPER),
        (palette.FAINT, palette.PAPER),
        (palette.WIRE_LINE, palette.PAPER),
        (palette.WIRE_LINE, palette.NEW_FILL),
        (palette.INVERTER_LINE, palette.INVERTER_FILL),
        (palette.BUFFER_LINE, palette.BUFFER_FILL),
        (palette.LEDGE_LINE, palette.LEDGE_FILL),
        (palette.INK, palette.SOLID_FILL),
        (palette.PAPER, palette.NEW_LINE),
        (palette.NEW_LINE, palette.PAPER),
    ],
)
def test_lines_and_letters_stand_out(line: str, behind: str) -> None:
    assert palette.contrast(line, behind) >= 4.5


def test_numbers_are_short() -> None:
    assert [number(value) for value in (1.0, 0.5, -0.001, 12.345)] == ["1", "0.5", "0", "12.35"]
