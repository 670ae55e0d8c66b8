"""Colours stand out in both themes, and every one of a drawing has its counterpart."""

from __future__ import annotations

import re

import pytest

from synth.views.drawing import palette
from synth.views.drawing.legend import ENTRIES
from synth.views.drawing.sheet import sheet_picture
from tests.views.contrast import contrast
from tests.views.layouts import INVERTER_CHAIN


def test_contrast_is_that_of_the_formula() -> None:
    """WCAG 2.2, from memory: black on white is 21 to 1, #767676 on white 4.54 to 1 (G18)."""
    assert contrast("#000000", "#ffffff") == pytest.approx(21)
    assert contrast("#767676", "#ffffff") == pytest.approx(4.54, abs=0.01)


@pytest.mark.parametrize("theme", [palette.LIGHT, palette.DARK], ids=["light", "dark"])
@pytest.mark.parametrize(
    ("line", "behind", "least"),
    [
        ("ink", "paper", 4.5),
        ("faint", "paper", 4.5),
        ("pin", "paper", 4.5),
        ("wire", "paper", 4.5),
        ("wire", "new", 4.5),
        ("clear-line", "clear", 4.5),
        ("ledge-line", "ledge", 4.5),
        ("inverter-line", "inverter", 4.5),
        ("buffer-line", "buffer", 4.5),
        ("ink", "solid", 4.5),
        ("ink", "on-pale", 4.5),
        ("on-line", "on-pale", 4.5),
        ("on-ink", "on", 4.5),
        ("paper", "new-line", 4.5),
        ("new-line", "paper", 4.5),
        ("open-line", "paper", 4.5),
        ("on", "paper", 3),
    ],
)
def test_lines_and_letters_stand_out(
    theme: dict[str, str], line: str, behind: str, least: float
) -> None:
    """4.5 to 1 is what WCAG 2.2 asks of text (1.4.3), 3 to 1 of graphics (1.4.11); from memory."""
    assert contrast(theme[line], theme[behind]) >= least


def test_both_themes_name_the_same_colours_and_none_stands_twice() -> None:
    assert list(palette.LIGHT) == list(palette.DARK)
    assert len(set(palette.LIGHT.values())) == len(palette.LIGHT)


def test_every_colour_of_a_drawing_can_be_replaced() -> None:
    drawn = sheet_picture(INVERTER_CHAIN).body + "".join(entry.body() for entry in ENTRIES)
    themed = palette.themed(drawn)
    assert not re.findall(r'="#[0-9a-f]{6}"', themed)
    style = palette.theme_style()
    for name in set(re.findall(r"var\((--[a-z-]+),", themed)):
        assert style.count(f"{name}:") == 2, name
