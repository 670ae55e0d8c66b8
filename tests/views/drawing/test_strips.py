"""A play as strips: which ticks get one, what is framed, what stands beside it."""

from __future__ import annotations

from itertools import pairwise
from pathlib import Path
from typing import Any
from xml.etree import ElementTree

import pytest

from synth.layout import Layout
from synth.layout.transform import turned
from synth.medium import DEFAULT_RULES
from synth.simulator import trace
from synth.simulator.rows import row_of
from synth.views.drawing import palette
from synth.views.drawing.strips import strip_ticks, strips_picture

DATA = Path(__file__).resolve().parents[2] / "data"
COPIES, RISE = 3, 16


@pytest.fixture(scope="module")
def row() -> Layout:
    """Each copy is an and that hands its result on within 3 ticks."""
    return row_of(Layout.load(DATA / "and_slice.json"), COPIES)


def played(row: Layout, ci: str, ticks: int = 32) -> dict[str, Any]:
    return trace(row, {"ci": ci} | {f"a[{copy}]": "1" for copy in range(COPIES)}, ticks)


@pytest.fixture(scope="module")
def rising(row: Layout) -> dict[str, Any]:
    return played(row, "0" * RISE + "1")


def tags(picture: str, name: str) -> list[ElementTree.Element]:
    return list(ElementTree.fromstring(picture).iter(f"{{http://www.w3.org/2000/svg}}{name}"))


def test_strips_begin_before_the_last_change_and_end_with_the_last_effect(
    row: Layout, rising: dict[str, Any]
) -> None:
    ticks = strip_ticks(rising)
    assert ticks[:2] == [RISE - 1, RISE]
    assert ticks[-1] == RISE + 3 * COPIES == rising["outputs"]["co"].index("1", RISE)
    shown = rising["ticks"]
    for tick in range(ticks[0] + 1, len(shown)):
        assert (tick in ticks) is (shown[tick] != shown[tick - 1])


def test_a_play_without_a_change_begins_at_tick_0(row: Layout) -> None:
    assert strip_ticks(played(row, "1"))[0] == 0


def test_of_a_long_play_strips_are_left_out_evenly(row: Layout, rising: dict[str, Any]) -> None:
    every, some = strip_ticks(rising, 99), strip_ticks(rising, 5)
    assert len(some) == 5 < len(every)
    assert (some[0], some[-1]) == (every[0], every[-1])
    assert some == sorted(set(some) & set(every))
    steps = [every.index(later) - every.index(now) for now, later in pairwise(some)]
    assert max(steps) - min(steps) <= 1


def test_each_strip_frames_what_has_changed(row: Layout, rising: dict[str, Any]) -> None:
    picture = strips_picture(row, rising, DEFAULT_RULES).document("row")
    frames = [tag for tag in tags(picture, "rect") if tag.get("stroke") == palette.NEW_LINE]

    def powered(tick: int) -> set[tuple[int, ...]]:
        now = rising["ticks"][tick]
        wires = {tuple(at) for *at, strength in now["wires"] if strength}
        return wires | {tuple(at) for key in ("charged", "on") for at in now[key]}

    ticks = strip_ticks(rising)
    changed = sum(len(powered(now) ^ powered(before)) for before, now in pairwise(ticks))
    assert len(frames) == changed + 1  # One more is in the key.


def test_the_carry_is_told_beside_the_strips(row: Layout, rising: dict[str, Any]) -> None:
    picture = strips_picture(row, rising, DEFAULT_RULES).document("row")
    words = [(tag.text, tag.get("font-weight")) for tag in tags(picture, "text")]
    strips = len(strip_ticks(rising))
    assert [word for word, _ in words].count("a 1") == COPIES * strips
    assert words.count(("ci = 1", "bold")) == 1
    assert words.count(("co = 1", "bold")) == 1
    assert words.count(("co = 0", "normal")) == strips - 1


def test_a_row_along_y_is_seen_from_the_side_as_well(row: Layout, rising: dict[str, Any]) -> None:
    along_x = strips_picture(row, rising, DEFAULT_RULES)
    other = turned(row, 1)
    along_y = strips_picture(other, trace(other, rising["inputs"], 32), DEFAULT_RULES)
    assert (along_y.width, along_y.height) == (along_x.width, along_x.height)
