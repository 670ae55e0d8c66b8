"""Drawings are well formed, show every part, and can be read without telling colours apart."""

from __future__ import annotations

from pathlib import Path
from xml.etree import ElementTree

import pytest
from hypothesis import given, settings

from synth.layout import Layout
from synth.simulator import trace
from synth.views.drawing import palette
from synth.views.drawing.isometric import isometric_picture
from synth.views.drawing.layers import LayerDrawer, Step, layers_picture
from synth.views.drawing.sheet import sheet_picture
from synth.views.drawing.shown import Shown
from synth.views.drawing.svg import number
from synth.views.drawing.symbols import symbol
from tests.views.layouts import EMPTY, INVERTER_CHAIN, LONG, SLOW, layouts

XOR = Path(__file__).parents[2] / "data" / "xor2.json"


@given(layouts())
@settings(max_examples=25)
def test_every_drawing_is_well_formed(layout: Layout) -> None:
    pictures = (
        layers_picture(layout),
        isometric_picture(layout),
        isometric_picture(layout, apart=False),
        sheet_picture(layout),
    )
    for picture in pictures:
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


def test_a_step_shows_what_is_there_and_numbers_what_is_new() -> None:
    drawer = LayerDrawer(INVERTER_CHAIN)
    new = {(2, 0, 1): 41, (2, 1, 1): 42}
    body = drawer.layer(1, Step(frozenset({(1, 0, 1)}), new)).body
    assert ">41<" in body
    assert ">42<" in body
    whole = drawer.layer(1).body
    assert symbol(INVERTER_CHAIN.cells[(1, 1, 1)]) in whole
    assert symbol(INVERTER_CHAIN.cells[(1, 1, 1)]) not in body


def test_numbers_are_short() -> None:
    assert [number(value) for value in (1.0, 0.5, -0.001, 12.345)] == ["1", "0.5", "0", "12.35"]


def test_pictures_show_what_has_power() -> None:
    layout = Layout.load(XOR)
    still = layers_picture(layout).body + isometric_picture(layout).body
    tick = trace(layout, {"a": "1", "b": "0"}, 6)["ticks"][-1]
    shown = Shown.of_tick(layout, tick)
    layers, space = layers_picture(layout, shown=shown), isometric_picture(layout, shown=shown)
    assert palette.ON not in still
    for picture in (layers, space):
        assert palette.ON in picture.body
        for *_, strength in tick["wires"]:
            assert not strength or f">{strength}<" in picture.body


def test_a_stage_of_the_building_shows_its_parts_only() -> None:
    cells = frozenset({(0, 0, 0), (1, 0, 0)})
    few = isometric_picture(INVERTER_CHAIN, shown=Shown(cells=cells, new=frozenset({(1, 0, 0)})))
    whole = isometric_picture(INVERTER_CHAIN)
    assert len(few.body) < len(whole.body)
    assert few.width == whole.width
    assert palette.NEW_LINE in few.body
    assert palette.NEW_LINE not in whole.body


def test_axes_of_the_isometric_picture_have_their_names_and_numbers() -> None:
    root = ElementTree.fromstring(isometric_picture(INVERTER_CHAIN).document("x").encode())
    words = [element.text for element in root.iter("{http://www.w3.org/2000/svg}text")]
    for name in ("x", "y", "z", "0", "1", "2", "z = 0", "z = 1"):
        assert name in words


def test_pictures_on_pages_take_the_colours_of_the_page_and_files_their_own() -> None:
    picture = layers_picture(INVERTER_CHAIN)
    assert "var(--draw-ink,#17212b)" in picture.inline("x")
    assert "var(" not in picture.document("x")
