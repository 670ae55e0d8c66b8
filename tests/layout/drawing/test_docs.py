"""The page about drawings shows drawings that can be read, and errors that are made."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

import synth
from synth.errors import InputError
from synth.layout import Layout
from synth.layout.drawing.glyphs import BLOCKS, SLOW_BUFFERS
from synth.layout.drawing.heading import KEYS

DOCS = Path(__file__).parents[3] / "docs"
PAGE = (DOCS / "drawing.md").read_text(encoding="utf-8")
LOOSE_XOR = (DOCS / "loose_xor.drawing").read_text(encoding="utf-8")
BLOCKS_OF_TEXT = re.findall(r"^```text\n(.*?)^```", PAGE, re.DOTALL | re.MULTILINE)


def test_the_drawings_of_the_page_can_be_read() -> None:
    first, *others, error = BLOCKS_OF_TEXT
    assert first == LOOSE_XOR
    read = [Layout.from_drawing(text) for text in others]
    roles = [{pin.name: str(pin.role) for pin in layout.pins} for layout in read]
    assert roles[0] == dict.fromkeys("acde", "input") | {"sum": "output", "b": "output"}
    assert roles[1] == {"a": "input", "input2": "input", "q": "output"}
    with pytest.raises(InputError) as caught:
        Layout.from_drawing(LOOSE_XOR.replace("## 1> ++", "## 1_ ++"))
    said = "\n".join(f"  {line}" for line in str(caught.value).split("\n"))
    assert f"gatefit: xor.drawing: {said.strip()}\n" == error


def test_the_tables_of_the_page_are_whole() -> None:
    cells = re.findall(r"(?m)^\| (`[^|]*) \|", PAGE)
    words = {word for cell in cells for word in re.findall(r"`([^`]+)`", cell)}
    assert set(KEYS) <= words
    parts = {re.sub(r"\d", "1", word) for word in words - set(KEYS)}
    assert {re.sub(r"\d", "1", word) for word in (*BLOCKS, *SLOW_BUFFERS)} == parts


def test_the_exclusive_or_that_was_drawn_by_hand() -> None:
    verdict = synth.check(Layout.from_drawing(LOOSE_XOR), synth.Spec.parse("q = a ^ b", delay=2))
    assert verdict.passes
    assert verdict.stacks
