"""The page of a layout: what it holds agrees with the simulator, and it asks for no network."""

from __future__ import annotations

import json
import re
from importlib.resources import files
from pathlib import Path
from random import Random
from typing import Any
from xml.etree import ElementTree

import pytest

from synth.layout import Layout
from synth.medium import DEFAULT_RULES, RuleId
from synth.simulator import Fault, Verdict, check, legality, trace
from synth.simulator.explaining.moments import Moments, moments_of
from synth.spec import Spec
from synth.views.judged import Judged, judge
from synth.views.page import page_html
from synth.views.page.data import numbers_of, page_data
from synth.views.page.plans import plans_html
from synth.views.page.tables import fact_rows
from tests.stored import stored_layout
from tests.views.built import built_layout
from tests.views.contrast import contrast
from tests.views.layouts import EMPTY, INVERTER_CHAIN

TESTS = Path(__file__).parents[1]
XOR = stored_layout("xor2")
CASES = sorted((TESTS / "conformance").glob("*.json"))
MOST_BYTES = 2_000_000


def data_of(page: str) -> dict[str, Any]:
    found = re.search(r'<script type="application/json" id="data">(.*?)</script>', page, re.DOTALL)
    assert found is not None
    data: dict[str, Any] = json.loads(found[1])
    return data


def layouts() -> list[Layout]:
    """The given cases, a gate of the search and a slice of a chain."""
    given = [Layout.from_document(json.loads(path.read_text())["layout"]) for path in CASES]
    return [
        XOR,
        stored_layout("and_slice"),
        *(layout for layout in given if not legality(layout) and layout.inputs),
    ]


def test_the_page_is_one_small_file_that_asks_for_nothing() -> None:
    page = page_html(XOR)
    assert len(page.encode()) < MOST_BYTES
    for attribute in re.findall(r'(?:src|href)="([^"]*)"', page):
        assert attribute.startswith(("#", "data:")), attribute
    policy = re.search(r'http-equiv="Content-Security-Policy" content="([^"]*)"', page)
    assert policy is not None
    assert "default-src 'none'" in policy[1]
    assert "{{" not in re.sub(r"<script.*?</script>", "", page, flags=re.DOTALL)


def test_a_name_that_tells_the_function_stands_there_once() -> None:
    named = XOR.replace(name="q = a ^ b")
    assert '<p class="formula">' not in page_html(named)
    assert '<p class="formula">q = a ^ b</p>' in page_html(XOR.replace(name="mine"))


def test_the_page_says_what_the_verdict_says() -> None:
    page = page_html(XOR)
    assert "q = a ^ b" in page
    assert "2 ticks" in page
    assert "4 x 2 x 4 cells" in page
    data = data_of(page)
    assert data["play"]["inputs"] == ["a", "b"]
    assert len(data["cells"]) == len(XOR.cells) + len(XOR.pins)


def test_delay_and_stacking_of_a_wrong_function_are_not_judged() -> None:
    facts = dict(fact_rows(XOR, judge(XOR, Spec.parse("q = a & b"), delay=2)))
    assert facts["delay"] == "not judged: the function is wrong"
    assert facts["stacks"].startswith("not judged: along y")
    assert dict(fact_rows(XOR, judge(XOR)))["stacks"].startswith("along y")


def test_a_layout_that_is_not_legal_is_drawn_with_its_faults_and_not_played() -> None:
    cells = {cell: block for cell, block in XOR.cells.items() if cell != (0, 0, 0)}
    broken = XOR.replace(cells=cells)
    page = page_html(broken)
    assert data_of(page)["play"] is None
    assert "has nothing under it" in page


@pytest.mark.parametrize("layout", [XOR, INVERTER_CHAIN, EMPTY], ids=["xor", "every part", "empty"])
def test_the_drawings_are_well_formed_and_show_every_cell(layout: Layout) -> None:
    number = numbers_of(layout, check(layout).faults)
    text = plans_html(layout, number, set())
    drawings = re.findall(r"<svg viewBox.*?</svg>", text, re.DOTALL)
    assert len(drawings) == layout.height
    numbers = [
        int(group.attrib["data-cell"])
        for drawing in drawings
        for group in ElementTree.fromstring(drawing)
        if "data-cell" in group.attrib
    ]
    assert sorted(numbers) == list(range(len(layout.cells) + len(layout.pins)))


def test_a_fault_in_an_empty_cell_has_a_place_in_the_drawing() -> None:
    verdict = Verdict(False, None, None, None, None, (Fault(RuleId.CELL_ASK, (2, 0, 0), "is"),))
    layout = XOR.with_cells({(2, 0, 0): None})
    number = numbers_of(layout, verdict.faults)
    text = plans_html(layout, number, {(2, 0, 0)})
    assert f'is-faulty" data-cell="{number[2, 0, 0]}"' in text
    data = page_data(layout, DEFAULT_RULES, Judged(verdict, ("a", "b")))
    assert data["cells"][number[2, 0, 0]]["part"] == "empty"
    assert data["faults"] == [{"cell": number[2, 0, 0], "text": "is"}]


def test_names_cannot_end_the_data_or_the_page() -> None:
    page = page_html(XOR.replace(name="</script><b>"))
    assert data_of(page)["name"] == "</script><b>"
    assert "<b>" not in page.replace("<b>why", "").replace("<b>Keys</b>", "")


def played(moments: Moments, rows: list[int]) -> list[tuple[int, ...]]:
    """The outputs tick by tick when the inputs go through rows, from the first row's rest."""
    moment = moments.moments[moments.rest[rows[0]]]
    outputs = []
    for row in rows:
        moment = moments.moments[moments.enter[moment.after][row]]
        outputs.append(moment.outputs)
    return outputs


def words(rows: list[int], count: int) -> list[str]:
    return ["".join(str(row >> (count - 1 - index) & 1) for row in rows) for index in range(count)]


@pytest.mark.parametrize("number", range(len(layouts())))
def test_the_play_in_the_page_is_that_of_the_simulator(number: int) -> None:
    """Inputs that change at random: the graph of moments gives what a trace gives."""
    layout = layouts()[number]
    moments = moments_of(layout)
    rng = Random(number)
    count = len(layout.inputs)
    first = rng.choice(sorted(moments.settles)) if moments.settles else None
    if first is None or not moments.free:
        pytest.skip("no row settles, or not every change is in the page")
    still = 40
    rows = [first] * still + [rng.randrange(1 << count) for _ in range(24)]
    drive = dict(zip((pin.name for pin in layout.inputs), words(rows, count), strict=True))
    expected = trace(layout, drive, ticks=len(rows))["outputs"]
    outputs = played(moments, rows[still - 1 :])
    for index, pin in enumerate(layout.outputs):
        word = "".join(str(values[index]) for values in outputs)
        assert word == expected[pin.name][still - 1 :]


def test_every_row_comes_to_rest_at_what_the_check_says() -> None:
    verdict = check(XOR)
    assert verdict.outputs is not None
    moments = moments_of(XOR)
    rested = "".join(str(moments.moments[moments.rest[row]].outputs[0]) for row in range(4))
    assert rested == verdict.outputs["q"]


def test_where_room_is_short_the_page_says_what_it_holds() -> None:
    moments = moments_of(XOR, max_looks=60)
    assert not moments.free
    assert all(row in moments.rest for row in range(4))


def test_reasons_name_a_cause_that_is_so() -> None:
    """In every moment: an inverter is said to be on exactly when its host is not charged."""
    data = data_of(page_html(XOR))
    play = data["play"]
    seen = 0
    for live, kinds in zip(play["live"], play["situations"], strict=True):
        cell = data["cells"][live]
        for value, text, why in kinds:
            sentence = play["sentences"][why]
            assert play["sentences"][text]
            if cell["part"] == "inverter":
                seen += 1
                assert ("not charged" in sentence) == bool(value), sentence
    assert seen >= 8


def test_text_has_the_contrast_of_wcag_aa() -> None:
    """WCAG 2.2, criteria 1.4.3 (text, 4.5 to 1) and 1.4.11 (borders, 3 to 1); from memory."""
    css = files("synth.views.page").joinpath("assets", "page.css").read_text(encoding="utf-8")
    schemes = re.findall(r":root \{(.*?)\}", css, re.DOTALL)
    light, dark = (dict(re.findall(r"--([\w-]+): (#[0-9a-f]{3,6});", s)) for s in schemes[:2])
    assert set(dark) == set(light)
    for colours in (light, dark):
        for ground in ("paper", "sheet", "band"):
            for text in ("ink", "soft", "blue", "power-ink", "fault", "good"):
                assert contrast(colours[text], colours[ground]) >= 4.5, (text, ground)
        for ground in ("paper", "sheet"):
            assert contrast(colours["edge"], colours[ground]) >= 3
        assert contrast(colours["power-ink"], colours["power-pale"]) >= 4.5
        assert contrast(colours["fault"], colours["fault-pale"]) >= 4.5


def test_the_page_knows_the_pieces_and_every_part_of_them() -> None:
    layout = built_layout()
    page = page_html(layout)
    number = numbers_of(layout, ())
    listed = data_of(page)["pieces"]
    assert [piece["title"] for piece in listed] == [piece.title for piece in layout.pieces]
    for told, piece in zip(listed, layout.pieces, strict=True):
        assert told["cells"] == [number[cell] for cell in piece.cells]
        low, high = told["box"]
        assert all(low[a] <= cell[a] <= high[a] for cell in piece.cells for a in range(3))
    assert 'id="piece-list"' in page
    for other in (page_html(XOR), page_html(layout, embed=True)):
        assert 'id="piece-list"' not in other
