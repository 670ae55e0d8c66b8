"""Nothing that is shown can command a terminal or hide what it says."""

from __future__ import annotations

import unicodedata

import pytest
from hypothesis import given
from hypothesis import strategies as st

from synth.printable import cleaned, is_printable


@given(st.text(st.characters(exclude_categories=())))
def test_what_is_cleaned_is_printable_and_stays(text: str) -> None:
    clean = cleaned(text)
    assert is_printable(clean)
    assert cleaned(clean) == clean
    assert (clean == text) is is_printable(text)
    clean.encode()  # No lone surrogate is left.


@given(st.text(st.characters(categories=["L", "M", "N", "P", "S", "Zs"])))
def test_letters_marks_and_signs_of_all_scripts_stay(text: str) -> None:
    assert cleaned(text) == text


@pytest.mark.parametrize(
    ("text", "shown"),
    [
        ("\x1b[31mred\x1b[0m", "\\x1b[31mred\\x1b[0m"),
        ("a\x00b\x7f\x9b2J", "a\\x00b\\x7f\\x9b2J"),
        ("abc\u202egnp.exe", "abc\\u202egnp.exe"),
        ("two\nlines\r", "two\\x0alines\\x0d"),
        ("\udcff", "\\udcff"),
        ("\U000e0041", "\\U000e0041"),
        ("naïve 東京 نیم\u200cبیت e\u0301", "naïve 東京 نیم\u200cبیت e\u0301"),
    ],
)
def test_examples(text: str, shown: str) -> None:
    assert cleaned(text) == shown


def test_lines_are_kept_where_they_are_asked_for() -> None:
    assert cleaned("a\nb\tc", lines=True) == "a\nb\\x09c"
    assert is_printable("a\nb", lines=True)
    assert not is_printable("a\nb")


def test_every_control_character_is_caught() -> None:
    for number in range(0x110000):
        character = chr(number)
        if unicodedata.category(character) == "Cc":
            assert not is_printable(character)
