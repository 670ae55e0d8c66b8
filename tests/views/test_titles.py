"""A layout is called by its name, or else by what it computes."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

from hypothesis import given, settings

from synth.layout import Layout
from synth.views.drawing.sheet import sheet_picture
from synth.views.titles import LONGEST, title_of
from tests.views.layouts import EMPTY, layouts

XOR = Layout.load(Path(__file__).parent.parent / "data" / "xor2.json")


def test_a_name_is_the_title() -> None:
    assert title_of(XOR) == "xor2"


def test_without_a_name_the_function_is() -> None:
    nameless = replace(XOR, name=None)
    assert title_of(nameless) == "q = a ^ b"
    assert ">q = a ^ b<" in sheet_picture(nameless).body


@given(layouts())
@settings(max_examples=20, deadline=None)
def test_every_layout_has_a_title_of_a_line(layout: Layout) -> None:
    title = title_of(layout)
    assert 0 < len(title) <= LONGEST
    assert title.isprintable()


def test_what_computes_nothing_is_a_layout() -> None:
    assert title_of(EMPTY) == "layout"
