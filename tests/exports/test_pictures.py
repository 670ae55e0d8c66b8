"""The sheet as SVG and as pixels."""

from __future__ import annotations

import struct
from pathlib import Path
from xml.etree import ElementTree

import pytest

from synth.errors import InputError
from synth.exports import needs, pictures
from synth.layout import Layout
from tests.views.layouts import INVERTER_CHAIN, LONG

XOR = Layout.load(Path(__file__).parent.parent / "data" / "xor2.json")


def test_svg_names_every_layer_pin_and_count() -> None:
    root = ElementTree.fromstring(pictures.svg(XOR).encode())
    words = [element.text for element in root.iter("{http://www.w3.org/2000/svg}text")]
    for z in range(XOR.height):
        assert words.count(f"z = {z}") == 2
    for pin in XOR.pins:
        assert words.count(pin.name) >= 2
    assert any("22 parts: 10 solid, 6 wire, 4 inverter, 2 buffer" in (word or "") for word in words)


@pytest.mark.parametrize("layout", [XOR, INVERTER_CHAIN])
def test_png_has_the_size_of_the_sheet_and_is_no_blank(layout: Layout) -> None:
    data = pictures.png(layout)
    # PNG (ISO/IEC 15948): signature, then the header chunk with width and height.
    assert data[:8] == b"\x89PNG\r\n\x1a\n"
    width, height = struct.unpack(">II", data[16:24])
    root = ElementTree.fromstring(pictures.svg(layout).encode())
    for pixels, units in ((width, root.attrib["width"]), (height, root.attrib["height"])):
        assert abs(pixels - pictures.PNG_ZOOM * float(units)) <= 2
    assert len(data) > width * height / 100


def test_a_picture_too_large_for_pixels_is_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(pictures, "MAX_PIXELS", 1000)
    with pytest.raises(InputError, match="too large"):
        pictures.png(LONG)


def test_a_missing_library_is_one_clear_error() -> None:
    with pytest.raises(InputError) as caught:
        needs.needed("nothing_like_it", "png")
    assert "'png' needs the Python package 'nothing_like_it'" in str(caught.value)
    assert "gatefit[export]" in str(caught.value)
