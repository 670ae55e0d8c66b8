"""The files of the catalogue: all links lead somewhere, downloads say what the store says."""

from __future__ import annotations

import json
import re
from html.parser import HTMLParser
from pathlib import Path
from types import SimpleNamespace
from typing import cast
from urllib.parse import unquote, urlsplit
from xml.etree import ElementTree

from synth.layout import Layout
from synth.library import Canonical
from synth.library.proofs import Reference
from synth.questions.problem import Problem
from synth.spec import Spec
from synth.views.catalogue import MARKER, Gate, site_files
from synth.views.catalogue.index_page import _proof

VOID = {"meta", "link", "img", "input", "br"}


class Reader(HTMLParser):
    """Links, ids and open elements of a page."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.links: list[str] = []
        self.ids: list[str] = []
        self.open: list[str] = []
        self.feed(text)
        self.close()
        assert self.open == []

    def handle_starttag(self, tag: str, attributes: list[tuple[str, str | None]]) -> None:
        found = dict(attributes)
        self.links += [found[key] or "" for key in ("href", "src") if key in found]
        if found.get("id"):
            self.ids.append(found["id"] or "")
        if tag not in VOID:
            self.open.append(tag)

    def handle_startendtag(self, tag: str, attributes: list[tuple[str, str | None]]) -> None:
        self.handle_starttag(tag, attributes)
        if tag not in VOID:
            self.open.pop()

    def handle_endtag(self, tag: str) -> None:
        assert self.open.pop() == tag


def pages(site: Path) -> dict[Path, Reader]:
    return {path: Reader(path.read_text(encoding="utf-8")) for path in site.rglob("*.html")}


def test_every_link_leads_to_a_file_and_a_place_of_the_catalogue(site: Path) -> None:
    read = pages(site)
    count = 0
    for path, page in read.items():
        assert len(page.ids) == len(set(page.ids)), path
        for link in page.links:
            if link.startswith("data:"):
                continue
            parts = urlsplit(link)
            assert not parts.scheme, f"{path.name}: {link}"
            assert not parts.netloc, f"{path.name}: {link}"
            target = path
            if parts.path:
                target = (path.parent / unquote(parts.path)).resolve()
                assert target.is_file(), f"{path.name}: {link}"
                assert target.is_relative_to(site.resolve())
            if parts.fragment:
                assert parts.fragment in Reader(target.read_text(encoding="utf-8")).ids, link
            count += 1
    assert count > 50


def test_every_file_is_linked_to(site: Path) -> None:
    linked = {
        (path.parent / urlsplit(link).path).resolve()
        for path, page in pages(site).items()
        for link in page.links
        if not link.startswith("data:")
    }
    files = {path.resolve() for path in site.rglob("*") if path.is_file()}
    assert files - linked == {(site / MARKER).resolve()}


def test_a_gate_without_a_layout_is_not_said_to_have_none_unless_that_is_proven() -> None:
    def words(*proven: bool, beyond: int = 0) -> str:
        others = tuple(SimpleNamespace(entry=SimpleNamespace(proven=one)) for one in proven)
        gate = SimpleNamespace(layouts=(), others=others, beyond=others[:beyond])
        return _proof(cast(Gate, gate))

    assert words(True, True) == "no layout"
    assert words(True, False) == words(False) == "undecided"
    assert words(False, True, beyond=1) == "beyond the limits asked"


def test_downloads_are_what_the_store_holds(site: Path, gates: list[Gate]) -> None:
    for gate in gates:
        for item in gate.items:
            spec = Spec.load(site / "layouts" / f"{item.number}.toml")
            asked, _ = Canonical.of(Problem(spec, item.entry.minimize, item.rules))
            assert asked.key == item.entry.key
        for item in gate.layouts:
            assert Layout.load(site / "layouts" / f"{item.number}.json") == item.layout


def test_each_layout_has_its_plan_and_what_else_is_made(site: Path, gates: list[Gate]) -> None:
    for gate in gates:
        for item in gate.layouts:
            stem = site / "layouts" / str(item.number)
            plan = stem.with_name(f"{item.number}-plan.html").read_text(encoding="utf-8")
            assert "Building plan" in plan
            assert stem.with_suffix(".png").read_bytes().startswith(b"\x89PNG")
            assert json.loads(stem.with_suffix(".gltf").read_text("utf-8"))["asset"]


def test_drawings_are_well_formed(site: Path) -> None:
    drawings = list(site.rglob("*.svg"))
    assert drawings
    for path in drawings:
        assert ElementTree.parse(path).getroot().tag == "{http://www.w3.org/2000/svg}svg"
    for path in site.rglob("*-space.svg"):
        # Pages show these as images, which see no style of the page: they are dark by themselves.
        assert "prefers-color-scheme:dark" in path.read_text(encoding="utf-8")


def test_what_is_large_is_there_once(site: Path) -> None:
    shared = sum(path.stat().st_size for path in (site / "assets").iterdir())
    for path in (site / "layouts").glob("[0-9].html"):
        assert path.stat().st_size < shared / 10


def test_the_same_store_gives_the_same_files(gates: list[Gate]) -> None:
    assert list(site_files(gates)) == list(site_files(gates))


def test_the_marker_lists_all_that_stands_at_the_top(site: Path, gates: list[Gate]) -> None:
    document = json.loads((site / MARKER).read_text(encoding="utf-8"))
    assert sorted(document["contents"]) == sorted(path.name for path in site.iterdir())
    assert document["gates"] == len(gates)
    beyond = len(list((site / "layouts").glob("*-beyond.json")))
    assert document["beyond"] == beyond == 1
    assert document["layouts"] == len(list((site / "layouts").glob("*.json"))) - beyond


def test_words_of_the_user_are_text_and_no_markup(gates: list[Gate]) -> None:
    files = dict(site_files(gates, title="<b>&\"'</b>"))
    for name, text in files.items():
        if name.endswith(".html"):
            assert "<b>&" not in str(text)
    assert "&lt;b&gt;&amp;" in str(files["index.html"])


def test_an_empty_store_has_an_index(tmp_path: Path) -> None:
    files = dict(site_files([]))
    assert "0 gates, 0 layouts" in str(files["index.html"])
    assert set(files) >= {"index.html", MARKER}
    Reader(str(files["index.html"]))


def test_nothing_is_called_proven_that_is_not(site: Path, gates: list[Gate]) -> None:
    for gate in gates:
        text = (site / "gates" / f"{gate.slug}.html").read_text(encoding="utf-8")
        cards = re.findall(r'<article class="card" id="layout-(\d+)".*?</article>', text, re.S)
        assert [int(number) for number in cards] == [item.number for item in gate.layouts]
        for item in gate.layouts:
            (card,) = re.findall(rf'<article class="card" id="layout-{item.number}".*?</h3>', text)
            kept = Reference.read(item.entry.proof) is not None
            assert (">proven<" in card) == (item.entry.proven and kept)
            assert (">smallest<" in card) == (item.entry.proven and not kept)
            assert (">best known<" in card) == (not item.entry.proven)


def test_a_layout_beyond_the_limits_is_told_apart(site: Path, gates: list[Gate]) -> None:
    """It stands with the question that has no layout, and counts as no layout of the gate."""
    (item,) = (item for gate in gates for item in gate.beyond)
    (gate,) = (gate for gate in gates if item in gate.items)
    assert item not in gate.layouts
    assert item.layout is None
    page = (site / "gates" / f"{gate.slug}.html").read_text(encoding="utf-8")
    listed = page[page.index("Asked without a layout") :]
    assert "undecided" in listed
    assert "Beyond the limits: none known in" in listed
    assert "It is no answer to the question" in listed
    own = Layout.load(site / "layouts" / f"{item.number}-beyond.json")
    assert own == item.beyond
    assert f"layouts/{item.number}-beyond.html" not in page[: page.index("Asked without a layout")]
