"""Values show themselves in notebooks, and nothing that draws is loaded before one does."""

from __future__ import annotations

import subprocess
import sys
from html.parser import HTMLParser
from pathlib import Path
from xml.etree import ElementTree

import pytest

import synth
from synth import showing
from synth.layout import Layout
from synth.medium import SOLID
from synth.questions.outcome import Outcome, Status
from synth.shrinking.shrinker import Shrunk
from synth.views.notebook import MOST_DRAWN
from tests.cli.conftest import NOT_GATE, UNSUPPORTED
from tests.stored import stored_layout

XOR = stored_layout("xor2")
ROOT = Path(__file__).parents[2]


class Balanced(HTMLParser):
    """Fails on an element that is not closed."""

    def __init__(self) -> None:
        super().__init__()
        self.open: list[str] = []

    def handle_starttag(self, tag: str, attrs: object) -> None:
        self.open.append(tag)

    def handle_endtag(self, tag: str) -> None:
        assert self.open.pop() == tag


def html_of(value: showing.Shows) -> str:
    html = value._repr_html_()
    assert html is not None
    reader = Balanced()
    reader.feed(html)
    assert reader.open == []
    return html


def test_a_layout_shows_its_layers_and_measures() -> None:
    html = html_of(XOR)
    assert html.count("<svg") == 2
    assert "4 x 2 x 4 cells" in html
    svg = XOR._repr_svg_()
    assert svg is not None
    assert ElementTree.fromstring(svg).tag == "{http://www.w3.org/2000/svg}svg"


def test_names_are_text() -> None:
    html = html_of(XOR.replace(name="<script>alert(1)</script>"))
    assert "<script" not in html
    assert "&lt;script&gt;" in html


def test_a_large_layout_is_told_in_words() -> None:
    side = 13
    cells = {(x, y, z): SOLID for x in range(side) for y in range(side) for z in range(side)}
    large = Layout((side, side, side), cells)
    assert large.part_count > MOST_DRAWN
    assert "<svg" not in html_of(large)
    assert "13 x 13 x 13 cells" in html_of(large)
    assert large._repr_svg_() is None


def test_a_verdict_tells_every_fault() -> None:
    html = html_of(synth.check(UNSUPPORTED))
    assert "Verdict: FAILS" in html
    assert "support at [1, 0, 0]" in html
    passing = html_of(synth.check(NOT_GATE, synth.Spec.parse("q = ~a")))
    assert "Verdict: passes" in passing
    assert "1 tick" in passing
    assert synth.check(NOT_GATE)._repr_svg_() is None


def test_outcomes_with_a_layout_and_without() -> None:
    verdict = synth.check(NOT_GATE)
    found = html_of(Outcome(Status.FOUND, NOT_GATE, verdict, claim="smallest by volume 4"))
    assert "Outcome: found" in found
    assert "smallest by volume 4" in found
    assert found.count("<svg") == 2
    nothing = html_of(Outcome(Status.IMPOSSIBLE, reason="all was ruled out", advice=("a", "b")))
    assert "Outcome: impossible" in nothing
    assert "all was ruled out" in nothing
    assert "a; b" in nothing


def test_shrinking_reviews_and_comparisons() -> None:
    verdict = synth.check(NOT_GATE)
    done = Shrunk(NOT_GATE, verdict, XOR, (), "the time is up", 1.0, 0)
    assert "4 x 2 x 4 to 2 x 1 x 2" in html_of(done)
    assert "Review: FAILS" in html_of(synth.review(UNSUPPORTED))
    compared = html_of(synth.compare(NOT_GATE, UNSUPPORTED))
    assert "B is not legal in the medium" in compared
    assert compared.count("<svg") == 2


def test_without_a_drawer_a_value_has_no_picture(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(showing, "_drawers", [])
    assert XOR._repr_html_() is None
    assert XOR._repr_svg_() is None


def test_a_value_of_no_kind_has_no_picture() -> None:
    class Other(showing.Shows):
        pass

    assert Other()._repr_html_() is None


LOADED = """
import sys
import synth
layout = synth.Layout.load("docs/loose_xor.drawing")
before = [name for name in sys.modules if name.startswith(("synth.views", "matplotlib", "jinja2"))]
html = layout._repr_html_()
print(before, html.startswith("<div"), "synth.search.frontier" in sys.modules)
"""


def test_nothing_that_draws_is_loaded_before_something_is_shown() -> None:
    command = [sys.executable, "-c", LOADED]
    run = subprocess.run(command, cwd=ROOT, capture_output=True, check=True, text=True)
    assert run.stdout == "[] True False\n"
