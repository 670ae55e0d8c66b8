"""The page in a real browser: headless Chromium, driven as a hand would."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import product
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page

from synth.layout import Layout
from synth.medium import Part
from synth.simulator import check, trace
from synth.spec import Spec
from synth.views.judged import judge
from synth.views.page import page_html
from tests.views.browsing import NO_MODEL, PHONE, overflow, ready, until, watched
from tests.views.built import built_layout

TESTS = Path(__file__).parents[1]
XOR = Layout.load(TESTS / "data" / "xor2.json")
ADDER = Layout.load(TESTS.parent / "benchmarks" / "records" / "full_adder_layout.json")
ASKED = Spec.parse("q = a ^ b")
SHORT = XOR.with_cells(
    {next(c for c, block in XOR.cells.items() if block.part is Part.INVERTER): None}
)
"""The exclusive-or, short of an inverter: it computes something else."""

UNSUPPORTED = XOR.with_cells({(0, 0, 0): None})


@pytest.fixture(scope="module")
def pages(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("page")
    made = {
        "xor2": page_html(XOR),
        "asked": page_html(XOR, judged=judge(XOR, ASKED, delay=2)),
        "short": page_html(SHORT, judged=judge(SHORT, ASKED, delay=2)),
        "unsupported": page_html(UNSUPPORTED),
        "adder": page_html(ADDER),
        "built": page_html(built_layout()),
        "embedded": page_html(XOR, judged=judge(XOR, ASKED, delay=2), embed=True),
    }
    for name, text in made.items():
        (folder / f"{name}.html").write_text(text, encoding="utf-8")
    return folder


@pytest.fixture(scope="module")
def shared(browser: Browser, pages: Path) -> Iterator[Page]:
    """One page that several tests use: each loads it anew with what it needs."""
    with watched(browser) as page:
        yield page


@pytest.fixture(scope="module")
def flat(browser: Browser, pages: Path) -> Iterator[Page]:
    """The same without a model, which is drawn in software here and takes most of the time."""
    with watched(browser, script=NO_MODEL) as page:
        yield page


def opened(page: Page, pages: Path, name: str = "xor2", fragment: str = "") -> Page:
    opened_flat(page, pages, name, fragment)
    assert page.locator("#canvas canvas").first.is_visible()
    return page


def opened_flat(page: Page, pages: Path, name: str = "xor2", fragment: str = "") -> Page:
    page.goto("about:blank")
    page.set_viewport_size({"width": 1280, "height": 900})
    return ready(page, pages / f"{name}.html", fragment)


def set_inputs(page: Page, bits: dict[str, str]) -> None:
    """Switch what differs, and let it settle: the slider goes to the last tick."""
    for name, bit in bits.items():
        switch = page.locator(f'.switch[data-input="{name}"]')
        if switch.get_attribute("aria-checked") != ("true" if bit == "1" else "false"):
            switch.click()
            show_tick(page, last_tick(page))


def last_tick(page: Page) -> int:
    return int(page.locator("#tick").get_attribute("max") or 0)


def tick(page: Page) -> int:
    return int(page.locator("#tick").input_value())


def show_tick(page: Page, number: int) -> None:
    page.locator("#tick").fill(str(number))
    page.locator("#tick").dispatch_event("input")


def output(page: Page, name: str = "q") -> str:
    return page.locator(f'.output[data-output="{name}"] .bit').inner_text()


def test_switches_give_what_the_simulator_gives(flat: Page, pages: Path) -> None:
    page = opened_flat(flat, pages)
    verdict = check(XOR)
    assert verdict.outputs is not None
    for row, bits in enumerate(product("01", repeat=2)):
        set_inputs(page, dict(zip("ab", bits, strict=True)))
        assert output(page) == verdict.outputs["q"][row]


@pytest.mark.parametrize(("start", "end"), [("00", "11"), ("11", "10")])
def test_inputs_change_at_tick_0_and_outputs_follow_tick_by_tick(
    flat: Page, pages: Path, start: str, end: str
) -> None:
    page = opened_flat(flat, pages, "asked")
    page.select_option("#jump-from", str(int(start, 2)))
    page.select_option("#jump-to", str(int(end, 2)))
    page.click("#jump-go")
    page.click("#play")  # pauses
    still = 10
    drive = {name: start[index] * still + end[index] * 8 for index, name in enumerate("ab")}
    word = trace(XOR, drive, ticks=still + 8)["outputs"]["q"]
    first = int(page.locator("#tick").get_attribute("min") or 0)
    assert first < 0 < last_tick(page)
    for number in range(first, last_tick(page) + 1):
        show_tick(page, number)
        assert output(page) == word[still + number], number
    settles = max((at + 1 for at, bit in enumerate(word[still:]) if bit != word[-1]), default=0)
    assert f"outputs are right at tick {settles}" in page.locator("#status").inner_text()


def test_keys_do_what_the_mouse_does(shared: Page, pages: Path) -> None:
    page = opened(shared, pages)
    page.locator("#canvas").focus()
    page.keyboard.press("2")
    show_tick(page, last_tick(page))
    assert page.locator('.switch[data-input="b"]').get_attribute("aria-checked") == "true"
    assert output(page) == "1"
    page.locator("#canvas").focus()
    before = tick(page)
    page.keyboard.press("[")
    assert tick(page) == before - 1
    page.keyboard.press("]")
    assert tick(page) == before


def test_a_switch_thrown_before_all_is_settled_gives_what_the_simulator_gives(
    flat: Page, pages: Path
) -> None:
    """Input b goes on one tick after input a, in the midst of the change."""
    page = opened_flat(flat, pages)
    # In one go, so that the play is paused at the tick of the change.
    page.evaluate(
        """() => {
            document.querySelector('.switch[data-input="a"]').click();
            document.querySelector("#play").click();
        }"""
    )
    assert tick(page) == 0
    page.click('.switch[data-input="b"]')
    last = last_tick(page)
    still = 10
    drive = {"a": "0" * still + "1" * (last + 2), "b": "0" * (still + 1) + "1" * (last + 1)}
    word = trace(XOR, drive, ticks=still + last + 2)["outputs"]["q"]
    for number in range(-1, last + 1):
        show_tick(page, number)
        # The change of b is now tick 0, that of a the tick before.
        assert output(page) == word[still + 1 + number], number


def test_the_model_can_be_pointed_at_sliced_turned_pulled_apart_and_repeated(
    shared: Page, pages: Path
) -> None:
    page = opened(shared, pages)
    page.click('[data-view="top"]')
    box = page.locator("#canvas").bounding_box()
    assert box is not None
    middle = (box["x"] + box["width"] / 2, box["y"] + box["height"] / 2)
    found = set()
    for high in ("3", "0"):
        page.locator("#slice-high").fill(high)
        page.mouse.move(middle[0] - 30, middle[1] + 30)
        page.mouse.move(middle[0] - 20, middle[1] + 20)
        page.wait_for_selector("#inspector .cell-title")
        found.add(page.locator("#inspector .cell-title").inner_text())
    # Seen from above, slicing uncovers what lies lower.
    assert len(found) == 2
    assert any(text.endswith(", 0)") for text in found)
    page.mouse.move(2, 2)
    page.locator("#slice-high").fill("3")
    shot = "() => document.querySelector('#canvas canvas').toDataURL()"
    frame = "() => new Promise((done) => requestAnimationFrame(() => setTimeout(done)))"
    pictures = {page.evaluate(shot)}
    page.locator("#canvas").focus()
    for keys in ("ArrowLeft", "+"):
        page.keyboard.press(keys)
        page.evaluate(frame)
        pictures.add(page.evaluate(shot))
    page.locator("#apart").fill("1")
    page.evaluate(frame)
    pictures.add(page.evaluate(shot))
    for name in ("#see-through", "#ghosts"):
        page.check(name)
        page.evaluate(frame)
        pictures.add(page.evaluate(shot))
    assert len(pictures) == 6


def test_names_on_the_model_never_touch_and_are_never_cut(shared: Page, pages: Path) -> None:
    page = opened(shared, pages)
    placed = page.evaluate(
        """async () => {
            const { Overlay } = await import("page/overlay");
            const THREE = await import("three");
            const host = document.createElement("div");
            const overlay = new Overlay(host);
            overlay.resize(300, 200);
            const view3d = { matrixWorldInverse: { elements: new THREE.Matrix4().elements } };
            const camera = { view3d, scale: 50, project: ([x, y]) => [x, y] };
            const pin = (text, at) => ({ kind: "pin", text, at, out: [at[0] + 5, at[1]] });
            const words = [..."abcdefghij"].map((name, n) => pin(name.repeat(3), [295 - n, 5]));
            words.push(...[..."pqr"].map((name) => pin(name, [150, 100])));
            const strength = (n) => ({ kind: "strength", text: "15", at: [9 * n, 90] });
            for (let n = 0; n < 40; n += 1) words.push(strength(n));
            overlay.draw(camera, words);
            return overlay.taken;
        }"""
    )
    assert len(placed) > 14
    for index, (x, y, wide, high) in enumerate(placed):
        if index:  # the first is the room of the axes
            assert x >= 0
            assert x + wide <= 300
            assert y >= 0
            assert y + high <= 200
        for left, top, w, h in placed[:index]:
            assert x >= left + w or left >= x + wide or y >= top + h or top >= y + high


def gap(page: Page, one: str) -> tuple[float, bool]:
    """How far the card stands from what it tells of, and whether all of it is in the window."""
    near, inside = page.evaluate(
        """(one) => {
            const a = document.querySelector(one).getBoundingClientRect();
            const b = document.getElementById("inspector").getBoundingClientRect();
            const across = Math.max(b.left - a.right, a.left - b.right, 0);
            const down = Math.max(b.top - a.bottom, a.top - b.bottom, 0);
            const overlaps = across === 0 && down === 0;
            const { clientWidth, clientHeight } = document.documentElement;
            return [overlaps ? -1 : Math.hypot(across, down),
                b.left >= 0 && b.top >= 0 && b.right <= clientWidth && b.bottom <= clientHeight];
        }""",
        one,
    )
    return near, inside


def test_the_reason_of_a_cell_stands_beside_it(flat: Page, pages: Path) -> None:
    page = opened_flat(flat, pages)
    for width in (1280, 390, 320):
        page.set_viewport_size({"width": width, "height": 760})
        for number in (0, 9, len(XOR.cells) - 1):
            cell = f'#plans [data-cell="{number}"]'
            page.locator(cell).click()
            distance, inside = gap(page, cell)
            assert 0 <= distance < 60
            assert inside
            page.keyboard.press("Escape")
            assert page.locator("#inspector").is_hidden()


def test_a_cell_tells_what_it_is_and_its_causes_lead_back_to_the_pin(
    flat: Page, pages: Path
) -> None:
    page = opened_flat(flat, pages)
    number = list(XOR.cells).index((0, 0, 2))
    page.locator(f'#plans [data-cell="{number}"]').click()
    body = page.locator("#inspector-body")
    assert "inverter on +x at (0, 0, 2)" in body.inner_text()
    assert "its host (1,0,2) is charged" in body.inner_text()
    set_inputs(page, {"a": "1"})
    assert "its host (1,0,2) is not charged" in body.inner_text()
    # From the output on, the first cause each time: at the end stands a pin of the inputs.
    page.keyboard.press("Escape")
    page.locator("#plans .cell.outside").filter(has_text="q").click()
    titles = []
    while (causes := page.locator("#inspector .cell-why .cell-link")).count():
        titles.append(page.locator(".cell-title").inner_text())
        assert len(titles) <= len(XOR.cells) + 3, titles
        fresh = [
            cause
            for cause in causes.all()
            if not any(cause.inner_text().split("(")[-1][:-1] in t.replace(" ", "") for t in titles)
        ]
        if not fresh:
            break
        fresh[0].click()
    assert "input" in page.locator(".cell-title").inner_text()
    page.locator(".trail").click()
    assert page.locator(".cell-title").inner_text() == titles[-1]


def test_followed_cells_have_waveforms(flat: Page, pages: Path) -> None:
    page = opened_flat(flat, pages)
    assert page.locator(".wave-label").count() == 3
    page.locator("#plans .cell.inside .ground").first.focus()
    page.keyboard.press("f")
    assert page.locator(".wave-label").count() == 4
    page.locator(".wave-label button").click()
    assert page.locator(".wave-label").count() == 3


def test_a_layout_that_fails_is_shown_as_failing(flat: Page, pages: Path) -> None:
    page = opened_flat(flat, pages, "short")
    verdict = page.locator(".verdict").inner_text()
    assert "Fails: 1 of 4 rows is not as asked" in verdict
    assert "q = a ^ b within 2 ticks" in verdict
    assert page.locator(".truth .is-wrong").all_inner_texts() == ["0 asked 1"]
    set_inputs(page, {"a": "1"})
    assert "wrong: q reads 0, asked 1" in page.locator("#status").inner_text()
    assert "right" not in page.locator("#status").inner_text()
    page.locator(".faults [data-go]").first.click()
    assert page.locator("#plans .cell.is-picked.is-faulty").count() == 1
    assert "reads 0, not 1" in page.locator("#inspector .cell-faults").inner_text()


def test_without_a_function_nothing_is_called_right(flat: Page, pages: Path) -> None:
    page = opened_flat(flat, pages)
    said = page.locator(".verdict").inner_text()
    assert "No function was stated to check against. It computes q = a ^ b." in said
    set_inputs(page, {"a": "1"})
    assert "from tick 2 on the outputs no longer change" in page.locator("#status").inner_text()
    assert "right" not in page.locator("#status").inner_text()


def test_what_is_not_legal_is_drawn_with_its_faults(flat: Page, pages: Path) -> None:
    page = opened_flat(flat, pages, "unsupported")
    assert "Not legal" in page.locator(".verdict").inner_text()
    page.locator(".faults [data-go]").first.click()
    assert "at (0, 0, 1)" in page.locator(".cell-title").inner_text()
    assert page.locator("#timeline").is_hidden()


def test_the_address_keeps_inputs_tick_cell_and_camera(shared: Page, pages: Path) -> None:
    page = opened(shared, pages)
    set_inputs(page, {"a": "1", "b": "1"})
    show_tick(page, 1)
    page.locator("#apart").fill("1")
    page.locator("#canvas").focus()
    page.keyboard.press("ArrowLeft")
    page.locator('#plans [data-cell="9"]').click()
    until(page, "/run=.*tick=1&cell=.*view=/.test(location.hash)")
    fragment = page.evaluate("location.hash")
    shown = "[...document.querySelectorAll('#plans .cell')].map((c) => c.className.baseVal)"
    before = (page.evaluate(shown), output(page), page.locator(".cell-title").inner_text())
    again = opened(page, pages, fragment=fragment)
    assert (again.evaluate(shown), output(again), again.locator(".cell-title").inner_text()) == (
        before
    )
    assert tick(again) == 1
    assert again.locator("#apart").input_value() == "1"
    for wrong in ("#run=9,zz@q&tick=x&cell=7&view=;;;", "#run=", "#view=NaN,1", "#run=00,11@9999"):
        again.evaluate("(wrong) => { location.hash = wrong; }", wrong)
        again.wait_for_timeout(20)
    assert output(again) in "01"


@pytest.mark.parametrize("name", ["xor2", "short", "adder"])
def test_no_width_makes_the_page_scroll_sideways(shared: Page, pages: Path, name: str) -> None:
    page = opened(shared, pages, name)
    for width in (320, 390, 820, 1100):
        page.set_viewport_size({"width": width, "height": 800})
        assert overflow(page) <= 0, width


def test_an_embedded_page_fits_its_frame(shared: Page, pages: Path) -> None:
    page = opened(shared, pages, "embedded")
    page.set_viewport_size({"width": 700, "height": 420})
    for name in ("#canvas", "#play", "#tick", '.switch[data-input="b"]', "#status", ".verdict"):
        box = page.locator(name).bounding_box()
        assert box is not None, name
        assert box["x"] >= 0
        assert box["x"] + box["width"] <= 700
        assert box["y"] + box["height"] <= 420
    high = "document.documentElement.scrollHeight"
    assert page.evaluate(high) <= 420
    set_inputs(page, {"a": "1"})
    assert output(page) == "1"


def test_a_thumb_scrolls_the_page_and_turns_the_model_only_when_held(
    browser: Browser, pages: Path
) -> None:
    with watched(browser, viewport=PHONE, has_touch=True, is_mobile=True) as page:
        ready(page, pages / "xor2.html")
        box = page.locator("#canvas").bounding_box()
        assert box is not None
        x, y = box["x"] + box["width"] / 2, box["y"] + box["height"] / 2
        client = page.context.new_cdp_session(page)

        def touch(kind: str, *points: tuple[float, float]) -> None:
            given = [{"x": x, "y": y} for x, y in points]
            client.send("Input.dispatchTouchEvent", {"type": kind, "touchPoints": given})

        # A machine so busy that a swipe begins slowly makes it a hold: then once more.
        for _ in range(5):
            touch("touchStart", (x, y))
            for step in range(1, 9):
                touch("touchMove", (x, y - 20 * step))
            touch("touchEnd")
            if page.evaluate("window.scrollY") > 60:
                break
        until(page, "window.scrollY > 60")
        # A touch ends what is left of the swipe.
        touch("touchStart", (x, 5))
        touch("touchEnd")
        page.evaluate("window.scrollTo(0, 0)")
        assert "view=" not in page.evaluate("location.hash")
        touch("touchStart", (x, y))
        page.wait_for_selector("#canvas.is-held")
        scrolled = page.evaluate("window.scrollY")
        touch("touchMove", (x + 40, y + 60))
        touch("touchMove", (x + 80, y + 90))
        touch("touchEnd")
        until(page, "/view=/.test(location.hash)")
        assert page.evaluate("window.scrollY") == scrolled
        # A tap tells of a cell beside it.
        page.locator("#plans .cell.inside").last.tap()
        distance, inside = gap(page, "#plans .cell.is-picked")
        assert 0 <= distance < 60
        assert inside
        page.locator("#inspector .close").tap()
        assert page.locator("#inspector").is_hidden()


def test_signals_run_as_a_pulse_unless_motion_is_not_wanted(browser: Browser, pages: Path) -> None:
    for motion, name in (("no-preference", "pulse"), ("reduce", "none")):
        with watched(browser, reduced_motion=motion) as page:
            ready(page, pages / "xor2.html")
            page.click('.switch[data-input="a"]')
            page.click("#play")
            page.click("#step")
            fresh = page.locator("#plans .is-fresh .ground").first
            read = "(node) => getComputedStyle(node).animationName"
            assert fresh.evaluate(read) == name


def test_without_a_script_layers_and_tables_are_read(browser: Browser, pages: Path) -> None:
    with watched(browser, java_script_enabled=False) as page:
        page.goto((pages / "short.html").as_uri())
        assert page.locator(".no-script").is_visible()
        assert page.locator("#bench").is_hidden()
        assert page.locator("#plans .plan").count() == XOR.height
        assert page.locator(".truth .is-wrong").is_visible()


def test_without_three_dimensions_the_rest_works(browser: Browser, pages: Path) -> None:
    for name in ("xor2", "embedded"):
        with watched(browser, script=NO_MODEL) as page:
            ready(page, pages / f"{name}.html")
            assert page.locator("#no-scene").is_visible() == (name == "xor2")
            set_inputs(page, {"a": "1", "b": "0"})
            assert output(page) == "1"
            page.locator("#plans .cell.inside").first.click()
            assert page.locator("#inspector .cell-title").is_visible()


def in_full(page: Page) -> set[int]:
    """The parts that the layers do not fade."""
    shown = page.locator("#plans .cell:not(.is-away)")
    return set(shown.evaluate_all("cells => cells.map((cell) => Number(cell.dataset.cell))"))


def test_one_piece_is_shown_alone_and_all_again(shared: Page, pages: Path) -> None:
    layout = built_layout()
    page = opened(shared, pages, "built")
    every = in_full(page)
    assert page.locator("#piece-list button").count() == len(layout.pieces)
    gate = layout.pieces[1]
    page.fill("#piece-search", gate.title)
    page.locator("#piece-list button:visible", has_text=gate.title).first.click()
    number = {cell: place for place, cell in enumerate(layout.cells)}
    assert in_full(page) == {number[cell] for cell in gate.cells}
    assert page.locator("#piece-shown").inner_text() == f"Only {gate.title} is shown."
    until(page, "location.hash.includes('piece=')")
    link = page.evaluate("location.hash")
    page.fill("#piece-search", "no such piece")
    assert page.locator("#piece-none").is_visible()
    page.click("#piece-all")
    assert in_full(page) == every
    assert page.locator("#piece-all").is_disabled()
    opened(page, pages, "built", link)
    assert in_full(page) == {number[cell] for cell in gate.cells}
    # The model draws the boxes of the gates, or none.
    assert page.locator("#outlines").is_checked()
    page.uncheck("#outlines")
    page.set_viewport_size(PHONE)
    assert overflow(page) <= 0
