"""The desk in a real browser: every tool by mouse and by keyboard, and nothing is ever lost."""

from __future__ import annotations

import re
import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page, expect

from synth.desk.player import Player
from synth.layout import Layout
from synth.medium import CLEAR, LEDGE, SOLID, WIRE, Direction, Joint, Role, buffer, inverter
from tests.desk.layouts import LOOSE
from tests.desk.serving import Edit, Served, drag, opened, spot
from tests.stored import DATA, stored_layout
from tests.views.browsing import NO_MODEL, PHONE, overflow, until, watched

XOR = stored_layout("xor2")
WIDTH = 2


@pytest.fixture(scope="module")
def served(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Served]:
    folder = tmp_path_factory.mktemp("desk")
    started = Served(folder)
    yield started
    assert started.end() == 0


@pytest.fixture(scope="module")
def shared(browser: Browser, served: Served) -> Iterator[Page]:
    """One page that several tests use, each for a design of its own.

    It has no model, which takes most of the time; what is tested here needs none.
    """
    with watched(browser, script=NO_MODEL, own=served.origins) as page:
        yield page


def design(served: Served, page: Page, name: str, layout: Layout | None = None) -> Page:
    """Open a fresh design of that name, or one that holds a layout."""
    path = served.folder / f"{name}.json"
    (layout or Layout(size=(6, 2, 4), cells={})).save(path)
    opened(page, served.address, path.name)
    page.locator("#board").focus()
    return page


def press(page: Page, *keys: str) -> None:
    for key in keys:
        page.keyboard.press(key)


def test_a_key_puts_a_part_where_the_arrows_have_led(served: Served, shared: Page) -> None:
    page = design(served, shared, "keys")
    press(page, "PageDown")
    with Edit(page, 9):
        press(page, "s", "ArrowRight", "l", "ArrowRight", "c", "PageUp")  # at (2, 0, 1)
        press(page, "w", "ArrowLeft", "b", "ArrowLeft", "i", "i", "PageUp", "w", "x")
    layout = served.layout("keys.json")
    assert dict(layout.cells) == {
        (0, 0, 0): SOLID,
        (1, 0, 0): LEDGE,
        (2, 0, 0): CLEAR,
        (2, 0, 1): WIRE,
        (1, 0, 1): buffer(Direction.PX),
        (0, 0, 1): inverter(Direction.PX),
    }
    expect(page.locator("#where")).to_contain_text("empty cell at (0, 0, 2)")


def test_the_mouse_puts_draws_and_empties(served: Served, shared: Page) -> None:
    page = design(served, shared, "mouse")
    page.locator('.tool[data-tool="solid"]').click()
    with Edit(page):
        drag(page, spot(page, (0, 0, 0), WIDTH), spot(page, (4, 0, 0), WIDTH))
    page.locator('.tool[data-tool="wire"]').click()
    with Edit(page):
        drag(page, spot(page, (0, 0, 1), WIDTH), spot(page, (3, 0, 1), WIDTH))
    page.locator('.tool[data-tool="buffer"]').click()
    page.locator("#way").select_option("-x")
    page.locator("#ticks").select_option("3")
    with Edit(page):
        page.mouse.click(*spot(page, (4, 0, 1), WIDTH))
    page.locator('.tool[data-tool="empty"]').click()
    with Edit(page):
        page.mouse.click(*spot(page, (0, 0, 1), WIDTH))
    page.locator("#way").select_option("")
    page.locator("#ticks").select_option("1")
    cells = served.layout("mouse.json").cells
    assert dict(cells) == {(x, 0, 0): SOLID for x in range(5)} | {
        (x, 0, 1): WIRE for x in (1, 2, 3)
    } | {(4, 0, 1): buffer(Direction.NX, 3)}


def test_a_block_is_chosen_moved_copied_turned_and_mirrored(served: Served, shared: Page) -> None:
    start = Layout(
        size=(6, 3, 2),
        cells={(0, 0, 0): SOLID, (1, 0, 0): inverter(Direction.NX), (0, 1, 0): LEDGE},
    )
    page = design(served, shared, "block", start)
    page.locator('.tool[data-tool="choose"]').click()
    drag(page, spot(page, (0, 0, 0), 3), spot(page, (1, 1, 0), 3))
    with Edit(page):
        drag(page, spot(page, (0, 0, 0), 3), spot(page, (2, 0, 0), 3))  # the block is carried
    moved = served.layout("block.json")
    assert set(moved.cells) == {(2, 0, 0), (3, 0, 0), (2, 1, 0)}
    with Edit(page):
        press(page, "r")
    turned = served.layout("block.json")
    assert turned.cells[3, 1, 0] == inverter(Direction.NY)
    with Edit(page):
        press(page, "Shift+R")
    assert served.layout("block.json") == moved
    with Edit(page, 2):
        press(page, "m")
        page.get_by_role("button", name="Mirror x").click()
    page.locator("#board").focus()
    assert served.layout("block.json") == moved
    with Edit(page, 2):
        press(page, "Control+ArrowLeft")
        page.keyboard.press("+")
    assert set(served.layout("block.json").cells) == {(1, 0, 1), (2, 0, 1), (1, 1, 1)}
    press(page, "Control+c", "Escape", "Home")
    page.mouse.click(*spot(page, (3, 0, 0), 3))
    with Edit(page):
        press(page, "Control+v")
    assert set(served.layout("block.json").cells) >= {(3, 0, 0), (4, 0, 0), (3, 1, 0)}


def test_undo_to_the_start_and_redo_to_the_end(served: Served, shared: Page) -> None:
    page = design(served, shared, "undone", XOR)
    with Edit(page, 5):
        press(page, "s", "ArrowRight", "l", "x", "ArrowUp", "b", "k")
    end = served.layout("undone.json")
    assert end != XOR
    undo = page.locator("#undo")
    while undo.is_enabled():
        with Edit(page):
            undo.click()
    assert served.layout("undone.json") == XOR
    redo = page.locator("#redo")
    while redo.is_enabled():
        with Edit(page):
            page.keyboard.press("Control+Shift+Z")
    assert served.layout("undone.json") == end


def test_switches_show_what_the_simulator_plays_and_why(served: Served, shared: Page) -> None:
    page = design(served, shared, "played", XOR)
    for a, b in ((1, 0), (1, 1), (0, 1), (0, 0)):
        for name, value in {"a": a, "b": b}.items():
            switch = page.locator(f'.switch[data-input="{name}"]')
            if (switch.get_attribute("aria-checked") == "true") != bool(value):
                switch.click()
        expect(page.locator('.output[data-output="q"] .bit')).to_have_text(str(a ^ b))
    with_power = Player.of(XOR)
    shown = page.evaluate("[...document.querySelectorAll('#plans .cell.inside.is-on')].length")
    power = {cell for cell, value in with_power.values(-1).items() if value}
    assert shown == len([cell for cell in power if XOR.inside(cell)])
    page.locator("#board").focus()
    press(page, "1")
    expect(page.locator('.output[data-output="q"] .bit')).to_have_text("1")
    press(page, "[")
    expect(page.locator("#tick-text")).not_to_have_text("3 of 3")
    expect(page.locator("#cell .cell-why")).to_contain_text("why:")
    page.locator("#cell .cell-link").first.click()
    expect(page.locator("#cell .cell-title")).to_contain_text("(")


def test_a_fault_is_found_lit_up_and_gone_when_it_is_mended(served: Served, shared: Page) -> None:
    page = design(served, shared, "faulty", XOR.with_cells({(0, 0, 0): None}))
    finding = page.locator(".finding").first
    expect(finding).to_contain_text("support")
    finding.click()
    expect(page.locator("#where")).to_contain_text("(0, 0, 1)")
    expect(page.locator("#status")).to_contain_text("without the part that breaks a rule")
    page.locator("#board").focus()
    with Edit(page):
        press(page, "PageDown", "s")
    expect(page.locator("#review")).to_contain_text("No faults")
    assert served.layout("faulty.json") == XOR


def test_an_expected_function_says_where_it_is_met(served: Served, shared: Page) -> None:
    page = design(served, shared, "expected", XOR)
    page.locator("#function").fill("q = a & b")
    page.locator("#delay").fill("2")
    with Edit(page):
        page.get_by_role("button", name="Expect it").click()
    expect(page.locator("#verdict")).to_have_class("verdict is-fails")
    assert page.locator(".is-unmet").count() == 3
    page.locator("#function").fill("q = a ^ b")
    with Edit(page):
        page.locator("#function").press("Enter")
    expect(page.locator("#verdict")).to_have_class("verdict is-passes")
    assert page.locator(".is-met").count() == 4
    page.locator("#function").fill("q = a ^^")
    page.locator("#function").press("Enter")
    expect(page.locator("#said")).to_have_class("said is-wrong")


def test_pins_slices_stacking_and_size(served: Served, shared: Page) -> None:
    page = design(served, shared, "pins", Layout(size=(3, 2, 2), cells={}))
    press(page, "p")
    page.locator("#pin-name").fill("in")
    with Edit(page):
        page.locator("#pin-name").press("Enter")
    page.locator('.tool[data-tool="pin"]').click()
    page.mouse.click(*spot(page, (3, 0, 1), 2))  # beyond the frame, on the right
    expect(page.locator("#pin-face")).to_have_value("+x")
    page.locator("#pin-name").fill("out")
    page.locator("#pin-joint").select_option("buffer")
    with Edit(page):
        page.locator("#pin-form button[type=submit]").click()
    pins = served.layout("pins.json").pins
    assert [(pin.name, pin.role, pin.at, pin.joint) for pin in pins] == [
        ("in", Role.INPUT, (0, 0, 1), Joint.WIRE),
        ("out", Role.OUTPUT, (2, 0, 1), Joint.BUFFER),
    ]
    with Edit(page):
        page.get_by_role("button", name="Insert x").click()
    with Edit(page):
        page.get_by_label("Stacks").select_option("y")
    assert served.layout("pins.json").size == (4, 2, 2)
    page.locator("#copies").select_option("3")
    expect(page.locator(".switch")).to_have_count(3)
    page.locator("#copies").select_option("1")
    with Edit(page):
        page.get_by_role("button", name="Remove pin in").click()
    page.get_by_label("Length (x)").fill("5")
    with Edit(page):
        page.get_by_label("Length (x)").press("Enter")
    assert served.layout("pins.json").size == (5, 2, 2)


def test_what_is_locked_stays(served: Served, shared: Page) -> None:
    page = design(served, shared, "locked", XOR)
    before = served.layout("locked.json")
    with Edit(page):
        press(page, "k")
    press(page, "x")
    expect(page.locator("#said")).to_contain_text("locked")
    assert served.layout("locked.json") == before
    with Edit(page, 2):
        press(page, "k", "x")
    assert served.layout("locked.json") != before


def test_parts_are_put_in_the_model_too(served: Served, browser: Browser) -> None:
    with watched(browser, own=served.origins) as page:
        put_in_the_model(served, page)


def put_in_the_model(served: Served, page: Page) -> None:
    start = Layout(size=(1, 1, 2), cells={(0, 0, 0): SOLID})
    design(served, page, "model", start)
    page.get_by_role("button", name="Top", exact=True).click()
    page.locator('.tool[data-tool="wire"]').click()
    canvas = page.locator("#canvas")
    canvas.scroll_into_view_if_needed()
    box = canvas.bounding_box()
    assert box is not None
    with Edit(page):
        page.mouse.click(box["x"] + box["width"] / 2, box["y"] + box["height"] / 2)
    assert served.layout("model.json").cells[0, 0, 1] == WIRE
    with Edit(page):
        canvas.press("x")
    assert served.layout("model.json") == start


def test_versions_stand_side_by_side(served: Served, shared: Page) -> None:
    page = design(served, shared, "versions", XOR)
    page.get_by_role("button", name="Keep this one").click()
    expect(page.locator(".version-list li")).to_have_count(1)
    page.locator("#board").focus()
    with Edit(page):
        press(page, "x")
    page.get_by_role("button", name="Beside").click()
    expect(page.locator("#beside-note")).to_contain_text("1 taken")
    page.locator('.switch[data-input="a"]').click()
    expect(page.locator('#beside-outputs .output[data-output="q"] .bit')).to_have_text("1")
    with Edit(page):
        page.get_by_role("button", name="Take it").click()
    assert served.layout("versions.json") == XOR


def test_saved_reloaded_and_in_two_tabs_it_is_one_design(
    served: Served, browser: Browser, shared: Page
) -> None:
    page = design(served, shared, "shared")
    with Edit(page):
        press(page, "s")
    page.keyboard.press("Control+s")
    expect(page.locator("#saved")).to_have_text("saved")
    assert Layout.load(served.folder / "shared.json").part_count == 1
    with watched(browser, script=NO_MODEL, own=served.origins) as other:
        opened(other, served.address, "shared.json")
        with Edit(page):
            other.locator("#board").focus()
            press(other, "ArrowRight", "l")
        expect(page.locator("#plans .cell.inside")).to_have_count(2)
        with Edit(other):
            page.locator("#undo").click()
        expect(other.locator("#plans .cell.inside")).to_have_count(1)
    page.reload()
    page.wait_for_selector("body.is-ready")
    expect(page.locator("#plans .cell.inside")).to_have_count(1)
    expect(page.locator("#redo")).to_be_enabled()


def test_a_killed_desk_goes_on_where_it_was(browser: Browser, tmp_path: Path) -> None:
    shutil.copy(DATA / "xor2.json", tmp_path / "xor2.json")
    first = Served(tmp_path, "xor2.json")
    page = browser.new_page()
    page.add_init_script(NO_MODEL)
    try:
        opened(page, first.address, "xor2.json")
        page.locator("#board").focus()
        with Edit(page, 2):
            press(page, "x", "ArrowRight", "s")
        edited = first.layout("xor2.json")
        first.kill()
        expect(page.locator("#said")).to_contain_text("Nothing is lost")
        first.start()
        opened(page, first.address, "xor2.json")
        assert first.layout("xor2.json") == edited
        while page.locator("#undo").is_enabled():
            with Edit(page):
                page.locator("#undo").click()
        assert first.layout("xor2.json") == XOR
    finally:
        page.close()
        assert first.end() == 0


def test_a_page_from_elsewhere_is_not_answered(browser: Browser, served: Served) -> None:
    page = browser.new_page()
    try:
        page.goto("data:text/html,<title>elsewhere</title>")
        talk = served.address.replace("http:", "ws:", 1) + "talk"
        heard = page.evaluate(
            """(address) => new Promise((done) => {
                const socket = new WebSocket(address);
                socket.onopen = () => done("open");
                socket.onclose = () => done("closed");
            })""",
            talk,
        )
        assert heard == "closed"
        read = page.evaluate(
            "(address) => fetch(address).then((a) => a.text()).catch(() => 'refused')",
            served.address,
        )
        assert read == "refused"
    finally:
        page.close()


def test_on_a_phone_a_tap_puts_a_part_and_nothing_is_cut_off(
    browser: Browser, served: Served
) -> None:
    options = {"viewport": PHONE, "has_touch": True}
    with watched(browser, script=NO_MODEL, own=served.origins, **options) as page:
        design(served, page, "phone")
        page.locator('.tool[data-tool="solid"]').tap()
        with Edit(page):
            page.touchscreen.tap(*spot(page, (1, 1, 0), WIDTH))
        assert dict(served.layout("phone.json").cells) == {(1, 1, 0): SOLID}
        assert overflow(page) <= 0
        until(page, "document.querySelector('.transport').getBoundingClientRect().width > 0")


def test_a_lesson_is_completed_by_one_key(served: Served, shared: Page) -> None:
    page = shared
    opened(page, served.address, "lesson 1")
    expect(page.locator("#lesson-stand")).to_contain_text("Not yet")
    page.locator("#board").focus()
    with Edit(page):
        press(page, "i")
    expect(page.locator("#lesson-stand")).to_contain_text("Done")
    page.get_by_role("button", name="Next lesson").click()
    expect(page.locator("#lesson-title")).to_have_text("2. A wire weakens")
    page.get_by_role("button", name="Lessons", exact=True).click()
    expect(page.locator("#lessons-body li").first).to_contain_text("done")
    page.keyboard.press("Escape")


def test_a_remedy_is_pressed_and_a_job_offers_what_it_gains(served: Served, shared: Page) -> None:
    page = design(served, shared, "helped", LOOSE.with_cells({(2, 0, 0): None}))
    with Edit(page):
        page.locator(".remedy").filter(has_text="put a solid at (2,0,0)").click()
    assert served.layout("helped.json") == LOOSE
    page.locator('[data-job="smaller"]').click()
    expect(page.locator(".job.is-over")).to_contain_text("Nothing is claimed")
    with Edit(page):
        page.locator(".job").get_by_role("button", name="Take it").click()
    assert served.layout("helped.json").volume < LOOSE.volume


def test_an_export_is_kept_by_the_browser(served: Served, shared: Page) -> None:
    page = design(served, shared, "exported", XOR)
    page.get_by_role("button", name="Files", exact=True).click()
    with page.expect_download() as kept:
        page.locator('[data-export="drawing"]').click()
    assert kept.value.suggested_filename == "exported.drawing"
    assert Layout.from_text(Path(kept.value.path()).read_text(encoding="utf-8")) == XOR


def test_the_keys_of_the_page_are_those_of_its_manual() -> None:
    """The page lists its keys; ``docs/desk.md`` has the same ones."""
    root = Path(__file__).resolve().parents[2]
    source = (root / "synth" / "desk" / "assets" / "hand.js").read_text(encoding="utf-8")
    listed = re.findall(r'^  \["(.+?)", "', source, re.MULTILINE)
    manual = (root / "docs" / "desk.md").read_text(encoding="utf-8")
    rows = re.findall(r"^\| (.+?) \| .+ \|$", manual, re.MULTILINE)[2:]
    told = [
        word.replace("\\u2212", "\N{MINUS SIGN}")
        for keys in listed
        for word in re.split(r"[,;] ", keys)
    ]
    assert sorted(told) == sorted(word for keys in rows for word in re.split(r"[,;] ", keys))
