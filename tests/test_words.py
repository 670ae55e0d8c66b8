"""Plurals and lists."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from synth.words import counted, filled, in_units, listed, ticks, unit_of

PACKAGE = Path(__file__).parents[1] / "synth"


@pytest.mark.parametrize(
    ("count", "thing", "words"),
    [
        (0, "tick", "0 ticks"),
        (1, "tick", "1 tick"),
        (2, "box", "2 boxes"),
        (1, "entry", "1 entry"),
        (3, "entry", "3 entries"),
        (1234, "part", "1,234 parts"),
    ],
)
def test_numbers_have_their_form(count: int, thing: str, words: str) -> None:
    assert counted(count, thing) == words


def test_lists() -> None:
    assert [listed(list(words)) for words in ("", "a", "ab", "abc")] == [
        "",
        "a",
        "a and b",
        "a, b and c",
    ]
    assert listed(["-x", "+x"], "or") == "-x or +x"
    assert ticks(1) == "1 tick"


def test_measures_have_their_unit() -> None:
    names = ["volume", "floor", "length", "delay", "link", "link_delay", "parts"]
    assert [unit_of(name) for name in names] == [*["cell"] * 3, *["tick"] * 3, "part"]
    assert in_units("delay") == "delay, ticks"
    assert in_units("volume", "volume at most") == "volume at most, cells"
    assert in_units("parts", "parts at most") == "parts at most"


def test_nobody_counts_ticks_by_hand() -> None:
    """A delay that is put before the word "ticks" reads "1 ticks" one day."""
    found = [
        f"{path.relative_to(PACKAGE)}: {line.strip()}"
        for path in sorted(PACKAGE.rglob("*.py"))
        for line in path.read_text(encoding="utf-8").splitlines()
        if re.search(r"\{[\w.]*delay[\w.]*\} ticks", line) and "== 1 else" not in line
    ]
    assert not found


def test_text_is_filled_without_breaking_a_word() -> None:
    address = "http://" + "x" * 90
    assert filled(f"  note: see {address} well-known", "    ", width=20).split("\n") == [
        "  note: see",
        f"    {address}",
        "    well-known",
    ]
    assert filled("short", "  ") == "short"
