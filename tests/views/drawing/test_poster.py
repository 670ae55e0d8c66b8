"""The poster of a census: a card for each class, told apart without colour."""

from __future__ import annotations

import re
from typing import Any
from xml.etree import ElementTree

import pytest

from synth.census.result import Census
from synth.census.taking import run_census
from synth.exports.pictures import drawn
from synth.questions.census import CensusQuestion, free_spec
from synth.search.workers.settings import Settings
from synth.spec.demands import with_limits
from synth.spec.function_text import expression_of
from synth.views.drawing.poster import poster_picture, poster_title
from tests.census.in_process import here

__all__ = ["here"]

LIMITS: dict[str, Any] = {
    **{"length": 1, "width": 2, "height": 4, "delay": 1, "stack": "y", "joint": "buffer"}
}


@pytest.fixture
def census(here: type) -> Census:
    spec = with_limits(free_spec(2), **LIMITS)
    return run_census(CensusQuestion.of(spec)[0], Settings())


def words_of(picture: str) -> list[str]:
    root = ElementTree.fromstring(picture)
    return [element.text or "" for element in root.iter("{http://www.w3.org/2000/svg}text")]


def test_a_card_for_each_class_that_is_counted(census: Census) -> None:
    words = words_of(poster_picture(census).document("atlas"))
    assert words[0] == "Every function of two inputs"
    assert census.asked.counted is not None
    for (table,) in census.asked.counted:
        assert words.count(str(expression_of(table, ("a", "b")))) == 1
    assert words.count("smallest") == len(census.classes)
    assert f"No layout in these boxes: {len(census.without_layout or ())}" in words
    for one in census.classes:
        assert any(word.startswith(f"{one.layout.volume} cell") for word in words)
    assert any(word.startswith("A card stands for its class") for word in words)


def test_the_strip_of_a_card_is_its_truth_table(census: Census) -> None:
    document = poster_picture(census).document("atlas")
    filled = re.findall(r'<rect [^>]*width="12" height="12" fill="(#\w+)"', document)
    assert census.asked.counted is not None
    tables = [one.columns[0] for one in census.classes]
    tables += [columns[0] for columns in census.without_layout or ()]
    ink = {"1": "#17212b", "0": "#ffffff"}
    assert filled == [ink[value] for table in tables for value in table]


def test_frames_tell_what_is_known(census: Census) -> None:
    document = poster_picture(census).document("atlas")
    frames = re.findall(r'<rect [^>]*rx="6"[^>]*>', document)
    assert sum('stroke-width="2"' in frame for frame in frames) == len(census.classes)
    dashed = sum("stroke-dasharray" in frame for frame in frames)
    assert dashed == len(census.without_layout or ())


def test_both_kinds_of_files(census: Census) -> None:
    assert drawn(poster_picture(census), "atlas", "svg").startswith(b"<?xml")
    assert drawn(poster_picture(census), "atlas", "png").startswith(b"\x89PNG")
    named = poster_picture(census, "My wall").document(poster_title(census))
    assert words_of(named)[0] == "My wall"


def test_nothing_lies_beyond_the_poster(census: Census) -> None:
    """Every card and the foot begin within the picture, and no line is wider than it."""
    picture = poster_picture(census)
    root = ElementTree.fromstring(picture.document("atlas"))
    for element in root.iter("{http://www.w3.org/2000/svg}g"):
        moved = re.match(r"translate\(([-\d.]+) ([-\d.]+)\)", element.get("transform", ""))
        if moved:
            assert float(moved[1]) < picture.width
            assert float(moved[2]) < picture.height
