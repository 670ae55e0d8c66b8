"""A plan, followed step by step, never places a part without support and ends in the layout."""

from __future__ import annotations

import json
import re
from html.parser import HTMLParser
from pathlib import Path

import pytest
from hypothesis import given

from synth.errors import InputError
from synth.layout import Layout
from synth.medium import Block, Cell, Direction, Part
from synth.simulator import legality, trace
from synth.views.plan import Plan, building_steps, plan_of
from synth.views.plan_html import plan_html
from synth.views.text.plan import plan_text
from tests.simulator.build import box, enters, leaves, to
from tests.stored import stored_layout
from tests.views.golden import check_golden
from tests.views.layouts import INVERTER_CHAIN, LONG, layouts

TESTS = Path(__file__).parent.parent
XOR = stored_layout("xor2")
CONFORMANCE = sorted((TESTS / "conformance").glob("*.json"))


def supported(cells: dict[Cell, Block], cell: Cell, block: Block, *, ground: bool) -> bool:
    """Section 2, written down here once more: may this part be placed on what stands?"""
    x, y, z = cell
    if block.part in (Part.WIRE, Part.BUFFER):
        below = cells.get((x, y, z - 1))
        if below is None:
            return ground and z == 0
        return below.part in (Part.SOLID, Part.LEDGE) or (
            block.part is Part.WIRE and below.part is Part.CLEAR
        )
    if block.part is Part.INVERTER:
        assert block.facing is not None
        dx, dy, dz = block.facing.vector
        host = cells.get((x + dx, y + dy, z + dz))
        return host is not None and host.part is Part.SOLID
    return True


def follow(layout: Layout) -> dict[Cell, Block]:
    """Build by the plan, and refuse a part without support."""
    cells: dict[Cell, Block] = {}
    numbers = []
    heights = []
    for step in building_steps(layout):
        for placement in step.placements:
            assert placement.cell not in cells
            assert supported(cells, placement.cell, placement.block, ground=layout.ground)
            assert (placement.cell[2], placement.block.part) == (step.z, step.part)
            assert placement.rests is None or placement.rests in cells
            cells[placement.cell] = placement.block
            numbers.append(placement.number)
        heights.append(step.z)
    assert numbers == list(range(1, len(layout.cells) + 1))
    assert heights == sorted(heights)
    return cells


@pytest.mark.parametrize("path", CONFORMANCE, ids=lambda path: path.stem)
def test_every_legal_layout_is_built_whole(path: Path) -> None:
    layout = Layout.from_document(json.loads(path.read_text(encoding="utf-8"))["layout"])
    assert not legality(layout)
    assert follow(layout) == dict(layout.cells)


@given(layouts())
def test_every_legal_layout_of_random_ones_is_built_whole(layout: Layout) -> None:
    legal = layout.replace(cells={}, pins=())
    # Keep of the random parts those that have what they need.
    for _ in range(3):
        kept = {
            cell: block
            for cell, block in layout.cells.items()
            if supported(dict(layout.cells), cell, block, ground=True)
        }
        layout = layout.replace(cells=kept, ground=True)
    legal = legal.replace(cells=dict(layout.cells), ground=True)
    assert not legality(legal)
    assert follow(legal) == dict(legal.cells)


def test_a_plan_that_misses_a_support_would_be_seen() -> None:
    """The follower can fail: without its host no inverter may be placed."""
    cell, block = next((c, b) for c, b in XOR.cells.items() if b.part is Part.INVERTER)
    assert not supported({}, cell, block, ground=True)


def test_what_cannot_be_built_has_no_plan() -> None:
    floating = XOR.with_cells({(0, 0, 0): None})
    with pytest.raises(InputError, match="support"):
        plan_of(floating)


@pytest.fixture(scope="module")
def plan() -> Plan:
    return plan_of(XOR)


def test_tests_of_the_plan_hold_in_a_trace_of_any_order(plan: Plan) -> None:
    """Each line, reached from each other line, reads as written after the wait."""
    assert plan.wait == 2
    assert [test.inputs for test in plan.tests] == [(0, 0), (0, 1), (1, 0), (1, 1)]
    for before in plan.tests:
        for after in plan.tests:
            names = [pin.name for pin in XOR.inputs]
            drive = {
                name: str(before.inputs[i]) * 5 + str(after.inputs[i]) * 5
                for i, name in enumerate(names)
            }
            played = trace(XOR, drive, 10)
            assert set(played["outputs"]["q"][5 + plan.wait :]) == {after.outputs[0]}
            assert [tuple(cell) for cell in played["ticks"][9]["on"]] == list(after.on)
    assert [test.outputs for test in plan.tests] == [("0",), ("1",), ("1",), ("0",)]


def test_text_of_the_plan(plan: Plan) -> None:
    check_golden("plan_xor2", plan_text(plan))
    assert max(map(len, plan_text(plan).split("\n"))) <= 80


class Page(HTMLParser):
    """Counts elements, and collects what a page would fetch and what it says."""

    def __init__(self) -> None:
        super().__init__()
        self.tags: dict[str, int] = {}
        self.fetched: list[str] = []
        self.words: list[str] = []
        self.open: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags[tag] = self.tags.get(tag, 0) + 1
        self.fetched += [v or "" for k, v in attrs if k in ("src", "href", "srcset", "data")]
        if tag not in ("meta", "input"):
            self.open.append(tag)

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags[tag] = self.tags.get(tag, 0) + 1

    def handle_endtag(self, tag: str) -> None:
        assert self.open.pop() == tag

    def handle_data(self, data: str) -> None:
        self.words.append(data)


def read(html: str) -> Page:
    page = Page()
    page.feed(html)
    page.close()
    assert page.open == []
    return page


def test_page_of_the_plan_is_whole_and_fetches_nothing(plan: Plan) -> None:
    html = plan_html(plan)
    page = read(html)
    assert page.fetched == []
    assert "url(" not in html
    assert "@import" not in html
    said = " ".join(page.words)
    for step in plan.steps:
        assert f"Step {step.number}: height {step.z}" in said
    # A box to tick for every part, pin and test; a picture for every step.
    assert page.tags["input"] == XOR.part_count + len(XOR.pins) + len(plan.tests)
    assert page.tags["svg"] >= len(plan.steps) + 2


def test_names_cannot_break_the_page() -> None:
    html = plan_html(plan_of(XOR.replace(name='<script>alert(1)</script> & "x"')))
    read(html)
    assert "<script" not in html


def test_ground_and_slow_layouts_are_told() -> None:
    layout = box(
        (1, 1, 1),
        {(0, 0, 0): to("+x", 3)},
        enters("a", (0, 0, 0), "-x"),
        leaves("q", (0, 0, 0), "+x", "buffer"),
        ground=True,
    )
    text = plan_text(plan_of(layout))
    assert "level the 1 x 1 cells" in text
    assert "pointing +x, 3 ticks, on the ground" in text
    # Section 5: a buffer of delay k is known 2k - 1 ticks after its input.
    assert "At the latest 5 ticks" in " ".join(text.split())
    assert re.search(r"output q: a buffer at \(1, 0, 0\), on a ledge at\s+\(1, 0, -1\)", text)


def test_drawings_with_every_part_are_planned() -> None:
    for layout in (INVERTER_CHAIN, LONG):
        assert sum(len(step.placements) for step in building_steps(layout)) == layout.part_count
    assert Direction.NZ in {b.facing for b in INVERTER_CHAIN.cells.values()}
