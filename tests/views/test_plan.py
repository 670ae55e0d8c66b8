"""A plan, followed step by step, never places a part without support and ends in the layout."""

from __future__ import annotations

import json
from html.parser import HTMLParser
from pathlib import Path
from urllib.parse import unquote
from xml.etree import ElementTree

import pytest
from hypothesis import given

from synth.building import build
from synth.circuits.reading.equations import parse_equations
from synth.errors import InputError
from synth.layout import Layout, PieceKind
from synth.layout.transform import mirrored, repeated, turned
from synth.medium import LEVEL_DIRECTIONS, SOLID, Block, Cell, Direction, Part
from synth.simulator import legality, trace
from synth.spec import Spec
from synth.views import plan_html as plan_html_module
from synth.views.judged import judge
from synth.views.page import page_html
from synth.views.plan import Plan, joints_words, placement_words, plan_of
from synth.views.plan_html import key_of, plan_html
from synth.views.plan_steps import MOST_ABOUT, MOST_IN_STEP, MOST_LONG, building_steps
from synth.views.text.plan import plan_text
from synth.words import NOT_ELECTRICITY
from tests.simulator.build import box, enters, leaves, to
from tests.views.built import built_layout
from tests.views.golden import check_golden
from tests.views.layouts import INVERTER_CHAIN, LONG, layouts

TESTS = Path(__file__).parent.parent
XOR = Layout.load(TESTS / "data" / "xor2.json")
ADDER = Layout.load(TESTS.parent / "benchmarks" / "records" / "full_adder_layout.json")
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
    assert layout.pieces or heights == sorted(heights)
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


def test_both_plans_say_what_they_judge_and_that_it_is_no_electricity(plan: Plan) -> None:
    for text in (plan_text(plan), plan_html(plan)):
        assert NOT_ELECTRICITY in text
        assert plan.judged.words() in text


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
        if tag not in ("meta", "input", "img"):
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
    assert all(address.startswith("data:image/svg+xml,<svg") for address in page.fetched)
    assert "url(" not in html
    assert "@import" not in html
    said = " ".join(page.words)
    for step in plan.steps:
        assert f"Step {step.number}: layer z = {step.z}" in said
    # A box to tick for every part, test, pin and support of one; two pictures for every step.
    assert page.tags["input"] == XOR.part_count + 2 * len(XOR.pins) + len(plan.tests)
    assert page.tags["img"] == 2 * len(plan.steps) + 2


def test_pictures_in_the_page_are_drawings(plan: Plan) -> None:
    for address in read(plan_html(plan)).fetched:
        text = unquote(address.removeprefix("data:image/svg+xml,"))
        assert ElementTree.fromstring(text).tag == "{http://www.w3.org/2000/svg}svg"
        assert "prefers-color-scheme" in text


def test_a_page_of_a_thousand_parts_is_no_heavier_than_a_phone_bears() -> None:
    many = repeated(XOR, "y", 46)
    many = many.replace(pins=tuple(pin for pin in many.pins if pin.at[1] < 2), stack=None)
    assert many.part_count > 1_000
    page = read(plan_html(plan_of(many)))
    assert sum(page.tags.values()) < 5_000


def test_steps_of_very_large_layouts_are_drawn_from_above_only(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    before = read(plan_html(plan_of(XOR)))
    monkeypatch.setattr(plan_html_module, "MOST_IN_SPACE", XOR.part_count - 1)
    html = plan_html(plan_of(XOR))
    assert plan_html_module.ONLY_FROM_ABOVE in html
    steps = len(plan_of(XOR).steps)
    assert len(before.fetched) - len(read(html).fetched) == steps


@pytest.mark.parametrize("across", [False, True])
def test_no_step_is_larger_than_its_picture_can_be_read(across: bool) -> None:
    layout = turned(ADDER) if across else repeated(ADDER, "y", 5)
    for step in building_steps(layout):
        long, wide, _ = step.window.size
        assert len(step.placements) <= MOST_IN_STEP
        assert max(long, wide) <= MOST_LONG
        assert long + wide <= MOST_ABOUT
        for placement in step.placements:
            assert step.window.holds(placement.cell)
            for way in LEVEL_DIRECTIONS:
                beside = way.step(placement.cell)
                assert step.window.holds(beside) or not layout.inside(beside)
            assert placement.rests is None or step.window.holds(placement.rests)


def test_cubes_that_float_say_so() -> None:
    layout = Layout(
        size=(3, 1, 2),
        cells={(0, 0, 1): SOLID, (1, 0, 1): SOLID, (2, 0, 0): SOLID, (2, 0, 1): SOLID},
    )
    words = [
        placement_words(placement, layout)
        for step in building_steps(layout)
        for placement in step.placements
    ]
    assert words == [
        "solid at (2, 0, 0)",
        "solid at (2, 0, 1)",
        "solid at (1, 0, 1), beside the solid at (2, 0, 1), nothing below it",
        "solid at (0, 0, 1), beside the solid at (1, 0, 1), nothing below it",
    ]
    alone = layout.with_cells({(2, 0, 0): None, (2, 0, 1): None, (1, 0, 1): None})
    (step,) = building_steps(alone)
    assert placement_words(step.placements[0], alone) == (
        "solid at (0, 0, 1), floats: nothing placed so far touches it"
    )


def test_supports_outside_the_box_come_before_what_rests_on_them(plan: Plan) -> None:
    lines = joints_words(XOR)
    assert [line.startswith("ledge at") for line in lines] == [True] * 3 + [False] * 3
    assert all("on that ledge" in line for line in lines[3:])


def test_ticks_are_kept_by_what_a_layout_is_and_not_by_its_name() -> None:
    assert key_of(XOR) == key_of(XOR.replace(name="another"))
    assert key_of(XOR) != key_of(mirrored(XOR, "x"))


def test_a_layout_that_fails_says_so_on_its_plan() -> None:
    judged = judge(XOR, Spec.parse("q = a & b"), delay=2)
    html = plan_html(plan_of(XOR, judged=judged))
    assert 'class="verdict is-fails"' in html
    assert "3 of 4 rows are not as asked" in html
    assert "No function was stated" in plan_html(plan_of(XOR))


def test_names_cannot_break_the_page() -> None:
    html = plan_html(plan_of(XOR.replace(name='<script>alert(1)</script> & "x"')))
    read(html)
    assert "<script>alert" not in html


def test_of_many_assignments_some_are_tested_spread_evenly() -> None:
    names = [f"a{index}" for index in range(9)]
    pins = [enters(name, (0, 2 * lane, 0), Direction.NX) for lane, name in enumerate(names)]
    pins.append(leaves("q", (0, 18, 0), Direction.PX))
    cells = {pin.at: SOLID for pin in pins}
    plan = plan_of(Layout((1, 19, 1), cells, tuple(pins)))
    assert plan.all_tests == 512
    assert len(plan.tests) == 256
    assert {test.inputs[0] for test in plan.tests} == {0, 1}
    told = " ".join(plan_text(plan).split())
    assert "Only 256 of 512 assignments are listed, spread evenly." in told


def test_ground_and_slow_layouts_are_told() -> None:
    layout = box(
        (1, 1, 1),
        {(0, 0, 0): to("+x", 3)},
        enters("a", (0, 0, 0), "-x"),
        leaves("q", (0, 0, 0), "+x", "buffer"),
        ground=True,
    )
    text = plan_text(plan_of(layout))
    assert "Prepare the 1 x 1 cells" in text
    assert "pointing +x, 3 ticks, on the ground" in text
    # Section 5: a buffer of delay k is known 2k - 1 ticks after its input.
    assert "By tick 5 the outputs" in " ".join(text.split())
    assert "output q: buffer at (1, 0, 0), on that ledge, pointing +x" in text


def test_drawings_with_every_part_are_planned() -> None:
    for layout in (INVERTER_CHAIN, LONG):
        assert sum(len(step.placements) for step in building_steps(layout)) == layout.part_count
    assert Direction.NZ in {b.facing for b in INVERTER_CHAIN.cells.values()}


def test_a_layout_with_pieces_is_built_gate_by_gate_then_the_wires() -> None:
    layout = built_layout()
    assert follow(layout) == layout.cells
    plan = plan_of(layout)
    pieces = [section.piece for section in plan.sections]
    assert pieces == list(layout.pieces)
    kinds = [piece.kind for piece in layout.pieces]
    assert kinds == sorted(kinds, key=lambda kind: kind is PieceKind.WIRE)
    for section in plan.sections:
        assert section.piece is not None
        placed = {placement.cell for step in section.steps for placement in step.placements}
        # What a part stands or hangs on may be of another piece, and comes first.
        others = {layout.cells[cell].part for cell in placed - set(section.piece.cells)}
        assert others <= {Part.SOLID, Part.CLEAR, Part.LEDGE}
    numbers = [step.number for step in plan.steps]
    assert numbers == list(range(1, len(numbers) + 1))


def test_pieces_are_chapters_of_the_page_and_headings_of_the_text() -> None:
    layout = built_layout()
    plan = plan_of(layout)
    page, words = plan_html(plan), plan_text(plan)
    assert page.count('<section class="piece"') == len(layout.pieces)
    for number, piece in enumerate(layout.pieces, start=1):
        title = piece.title[0].upper() + piece.title[1:]
        assert f'<a href="#piece-{number}">{title}</a>' in page
        assert f"\n\n{title}: " in words
    assert 'class="piece"' not in plan_html(plan_of(layout.replace(pieces=())))


def test_parts_in_no_piece_come_last() -> None:
    layout = built_layout()
    some = layout.replace(pieces=layout.pieces[:1])
    assert follow(some) == layout.cells
    assert [section.piece for section in plan_of(some).sections] == [layout.pieces[0], None]
    assert "All else" in plan_text(plan_of(some))


def test_a_circuit_of_many_inputs_is_planned_and_drawn() -> None:
    """Seventeen inputs are too many for a table; what the tests expect comes from the trace."""
    names = [f"a{index}" for index in range(17)]
    built = build(parse_equations("q = " + " & ".join(names), "wide"), rounds=0)
    assert built.layout is not None
    plan = plan_of(built.layout)
    assert plan.wait == built.delay
    assert plan.all_tests == 1 << 17
    for test in plan.tests:
        assert test.outputs == ("1" if all(test.inputs) else "0",)
    assert "17 inputs are too many to play every assignment" in plan_html(plan)
    page = page_html(built.layout)
    assert f"at most {built.delay} ticks" in page
    assert "To state one: <code>gatefit check FILE --circuit CIRCUIT</code>" in page
    assert 'id="piece-list"' in page
    with pytest.raises(InputError, match="17 inputs"):
        judge(built.layout, delay=3)
