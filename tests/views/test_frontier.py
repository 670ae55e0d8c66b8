"""Frontiers as tables and pictures: everything known is on them, and nothing is by colour alone."""

from __future__ import annotations

import builtins
import re
import struct
import xml.etree.ElementTree as ET
from dataclasses import replace
from typing import Any

import pytest

from synth.errors import InputError
from synth.views.drawing.frontier_plot import frontier_plot
from synth.views.drawing.plotting import PIXELS_AN_INCH, SIZE_INCHES
from synth.views.text.frontier import frontier_text, standing_text
from synth.views.text.frontier_chart import BEST_KNOWN, NONE, OPEN, SMALLEST, Chart, ChartStep
from synth.words import WIDTH, in_units
from tests.views.frontiers import ALL, GAPS, NOTHING, PROVEN, UNKNOWN

SVG = "{http://www.w3.org/2000/svg}"
XLINK = "{http://www.w3.org/1999/xlink}href"


def rows_of(chart: Chart) -> list[list[str]]:
    """The rows of the table, cell by cell."""
    table = frontier_text(chart).split("\n\n")[1]
    return [re.split(r"\s{2,}", line) for line in table.split("\n")[2:]]


def test_the_table_has_a_row_for_every_step() -> None:
    assert rows_of(PROVEN) == [
        ["0 to 1", "-", "-", "-", "no layout"],
        ["2", "8", "4 x 2 x 5", "23", "smallest", "delay-2.json"],
        ["3 to 4", "6", "3 x 2 x 5", "17", "smallest", "delay-3.json"],
    ]
    assert rows_of(GAPS) == [
        ["1 to 11", "-", "-", "-", "no layout"],
        ["12 to 13", "-", "-", "-", "open; 7 or more"],
        ["14 to 17", "19", "7 x 1 x 2", "19", "best known; 13 or more"],
        ["18 to 29", "12", "3 x 3 x 2", "12", "smallest"],
        ["30 to 60", "12", "3 x 3 x 2", "12", "best known; 9 or more"],
    ]


def test_headings_name_the_unit() -> None:
    heads = {}
    for axes in (("floor", "delay"), ("parts", "volume"), ("volume", "link")):
        table = frontier_text(replace(PROVEN, axes=axes)).split("\n\n")[1]
        heads[axes] = re.split(r"\s{2,}", table.split("\n")[0])[:2]
    assert heads["floor", "delay"] == ["delay, ticks", "floor, cells"]
    assert heads["parts", "volume"] == ["volume, cells", "parts"]
    assert heads["volume", "link"] == ["link, ticks", "volume, cells"]


def test_the_sum_never_says_more_than_is_known() -> None:
    assert "Complete: the least delay is 2; allowing more than 3 does not reduce" in (
        frontier_text(PROVEN)
    )
    for chart in (GAPS, UNKNOWN):
        text = frontier_text(chart)
        assert "UNDECIDED" in text
        assert "Complete" not in text
    assert "for volume 12 to 13, 14 to 17, 30 to 60;" in frontier_text(GAPS)
    assert "IMPOSSIBLE" in frontier_text(NOTHING)


@pytest.mark.parametrize("chart", ALL.values(), ids=ALL)
def test_text_is_narrow_and_says_what_was_asked(chart: Chart) -> None:
    text = frontier_text(chart, ("length at most 6 cells",) * 9)
    assert max(map(len, text.split("\n"))) <= WIDTH
    flat = " ".join(text.split())
    assert chart.function in flat
    assert "Assumed: length at most 6 cells" in flat
    for phrase in (*chart.asked, *(step.claim for step in chart.steps)):
        assert phrase in flat


def texts_of(chart: Chart) -> list[str]:
    root = ET.fromstring(frontier_plot(chart, "svg"))
    return ["".join(element.itertext()).strip() for element in root.iter(f"{SVG}text")]


def ids_of(chart: Chart) -> set[str]:
    root = ET.fromstring(frontier_plot(chart, "svg"))
    return {name for element in root.iter() if (name := element.get("id")) is not None}


@pytest.mark.parametrize("chart", ALL.values(), ids=ALL)
def test_the_picture_holds_every_step(chart: Chart) -> None:
    texts, ids = texts_of(chart), ids_of(chart)
    first, second = chart.axes
    assert f"Smallest {first} against {second}: {chart.function}" in texts
    assert any(chart.asked[0] in text for text in texts)
    assert {in_units(first), in_units(second, f"{second} at most")} <= set(texts)
    for step in chart.steps:
        if step.point:
            assert f"{step.value}: {step.size_text}" in texts
            assert f"point-{step.first}" in ids
        if step.standing == BEST_KNOWN:
            assert f"{step.bound} or more" in texts
            assert {f"point-{step.first}", f"bound-{step.first}"} <= ids
        if step.standing == OPEN:
            assert f"open: {step.bound} or more" in texts
            assert f"bound-{step.first}" in ids
        if step.standing == NONE:
            assert "no layout; ruled out" in texts
            assert f"none-{step.first}" in ids


def test_axes_have_whole_numbers() -> None:
    for chart in ALL.values():
        numbers = [text for text in texts_of(chart) if re.fullmatch(r"[-\u2212]?\d+(\.\d+)?", text)]
        assert numbers
        assert all(text.isdigit() for text in numbers)


def test_standings_differ_in_shape_and_not_by_colour_alone() -> None:
    """The path of a marker tells a proven point from a best known one, and from a bound."""
    root = ET.fromstring(frontier_plot(GAPS, "svg"))
    by_id = {name: element for element in root.iter() if (name := element.get("id"))}
    paths = {}
    for name in ("point-14", "point-18", "bound-14"):
        (use,) = by_id[name].iter(f"{SVG}use")
        # A mark that was drawn before is referred to.
        path = by_id[(use.get(XLINK) or "").removeprefix("#")]
        paths[name] = re.sub(r"[-\d.\s]+", " ", path.get("d") or "")
    assert len(set(paths.values())) == 3
    assert "C" in paths["point-18"]
    assert "C" not in paths["point-14"]
    assert paths["point-14"].count("L") == 3
    assert paths["bound-14"].count("L") == 2


def test_the_picture_is_the_same_in_every_run() -> None:
    assert frontier_plot(GAPS, "svg") == frontier_plot(GAPS, "svg")


def test_png_has_the_size_it_says() -> None:
    data = frontier_plot(PROVEN, "png")
    assert data.startswith(b"\x89PNG\r\n\x1a\n")
    assert struct.unpack(">II", data[16:24]) == tuple(
        round(inches * PIXELS_AN_INCH) for inches in SIZE_INCHES
    )


def test_many_points_are_labelled_by_their_values() -> None:
    steps = tuple(
        ChartStep(n, n, SMALLEST, 40 - n, 40 - n, True, (40 - n, 1, 1), n, 1) for n in range(20)
    )
    texts = texts_of(Chart("q = a", (), ("length", "delay"), steps))
    assert {str(40 - n) for n in range(20)} <= set(texts)


def test_every_standing_has_words() -> None:
    words = {
        standing_text(ChartStep(0, 0, standing, 2, 1))
        for standing in (SMALLEST, BEST_KNOWN, OPEN, NONE)
    }
    assert len(words) == 4


def test_without_the_library_the_way_out_is_said(monkeypatch: pytest.MonkeyPatch) -> None:
    import synth.views.drawing.plotting as module

    def missing(name: str) -> Any:
        raise builtins.ImportError(name)

    monkeypatch.setattr(module, "import_module", missing)
    with pytest.raises(InputError, match="pip install matplotlib"):
        frontier_plot(PROVEN, "svg")
