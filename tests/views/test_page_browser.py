"""The page in a real browser: headless Chromium, driven as a hand would."""

from __future__ import annotations

from itertools import product
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Browser, BrowserType, Page

from synth.simulator import check, trace
from synth.views.page import page_html
from tests.stored import stored_layout
from tests.views.browsing import launched, next_picture, patient, skip_without_chromium

skip_without_chromium()

XOR = stored_layout("xor2")


@pytest.fixture(scope="module")
def html(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("page") / "xor2.html"
    path.write_text(page_html(XOR), encoding="utf-8")
    return path


class Watch:
    """Everything a page complains of and every address it asks for."""

    def __init__(self, page: Page) -> None:
        self.complaints: list[str] = []
        self.requests: list[str] = []
        page.on("console", self._console)
        page.on("pageerror", lambda error: self.complaints.append(str(error)))
        page.on("request", lambda request: self.requests.append(request.url))

    def _console(self, message: Any) -> None:
        if message.type in ("error", "warning") and "GPU stall" not in message.text:
            self.complaints.append(message.text)

    def assert_quiet(self) -> None:
        assert self.complaints == []
        assert all(url.startswith(("file:", "data:", "blob:")) for url in self.requests)


def opened(
    browser: Browser, html: Path, width: int = 1280, height: int = 900
) -> tuple[Page, Watch]:
    page = patient(browser.new_page(viewport={"width": width, "height": height}))
    watch = Watch(page)
    page.goto(html.as_uri())
    # The model is there, too: what it complains of must not come after a test has looked.
    page.wait_for_selector("body.is-ready")
    assert page.locator("#canvas canvas").is_visible()
    return page, watch


def set_inputs(page: Page, bits: dict[str, str]) -> None:
    """Switch what differs, and let it settle: the slider goes to the last tick."""
    for name, bit in bits.items():
        switch = page.locator(f'.switch[data-input="{name}"]')
        if switch.get_attribute("aria-checked") != ("true" if bit == "1" else "false"):
            switch.click()
            to_the_end(page)


def to_the_end(page: Page) -> None:
    last = page.locator("#tick").get_attribute("max")
    page.locator("#tick").fill(str(last))
    page.locator("#tick").dispatch_event("input")


def output(page: Page, name: str = "q") -> str:
    return page.locator(f'.light[data-output="{name}"] .bit').inner_text()


@pytest.mark.parametrize(("width", "height"), [(1280, 900), (390, 844)], ids=["desktop", "phone"])
def test_switches_give_what_the_simulator_gives(
    browser: Browser, html: Path, width: int, height: int
) -> None:
    page, watch = opened(browser, html, width, height)
    verdict = check(XOR)
    assert verdict.outputs is not None
    for row, bits in enumerate(product("01", repeat=2)):
        set_inputs(page, dict(zip("ab", bits, strict=True)))
        assert output(page) == verdict.outputs["q"][row]
    overflow = page.evaluate("document.documentElement.scrollWidth - window.innerWidth")
    assert overflow <= 0
    watch.assert_quiet()
    page.close()


@pytest.mark.parametrize(("start", "end"), [("00", "11"), ("01", "10"), ("11", "01")])
def test_a_jump_plays_the_change_tick_by_tick(
    browser: Browser, html: Path, start: str, end: str
) -> None:
    page, watch = opened(browser, html)
    page.select_option("#jump-from", str(int(start, 2)))
    page.select_option("#jump-to", str(int(end, 2)))
    page.click("#jump-go")
    page.click("#play")  # pauses
    still = 10
    drive = {name: start[index] * still + end[index] * 8 for index, name in enumerate("ab")}
    word = trace(XOR, drive, ticks=still + 8)["outputs"]["q"]
    last = int(page.locator("#tick").get_attribute("max") or 0)
    assert last >= 3
    for tick in range(last + 1):
        page.locator("#tick").fill(str(tick))
        page.locator("#tick").dispatch_event("input")
        # Two ticks at rest come before the change.
        assert output(page) == word[still - 2 + tick], tick
    watch.assert_quiet()
    page.close()


def test_keys_do_what_the_mouse_does(browser: Browser, html: Path) -> None:
    page, watch = opened(browser, html)
    page.locator("#canvas").focus()
    page.keyboard.press("2")
    to_the_end(page)
    assert page.locator('.switch[data-input="b"]').get_attribute("aria-checked") == "true"
    assert output(page) == "1"
    page.locator("#canvas").focus()
    before = page.locator("#tick").input_value()
    page.keyboard.press("[")
    assert int(page.locator("#tick").input_value()) == int(before) - 1
    page.keyboard.press("]")
    assert page.locator("#tick").input_value() == before
    watch.assert_quiet()
    page.close()


def test_a_switch_thrown_before_all_is_settled_gives_what_the_simulator_gives(
    browser: Browser, html: Path
) -> None:
    """Input a goes on at tick 3 and b one tick later, in the midst of the change."""
    page, watch = opened(browser, html)
    page.click('.switch[data-input="a"]')
    page.click("#play")  # pauses at the tick of the change
    assert page.locator("#tick").input_value() == "3"
    page.click('.switch[data-input="b"]')
    last = int(page.locator("#tick").get_attribute("max") or 0)
    still = 10
    drive = {"a": "0" * still + "1" * last, "b": "0" * (still + 1) + "1" * last}
    word = trace(XOR, drive, ticks=still + last)["outputs"]["q"]
    for tick in range(last + 1):
        page.locator("#tick").fill(str(tick))
        assert output(page) == word[still - 3 + tick], tick
    watch.assert_quiet()
    page.close()


def test_the_model_can_be_pointed_at_sliced_turned_and_repeated(
    browser: Browser, html: Path
) -> None:
    page, watch = opened(browser, html)
    page.click('[data-view="top"]')
    box = page.locator("#canvas").bounding_box()
    assert box is not None
    middle = (box["x"] + box["width"] / 2, box["y"] + box["height"] / 2)
    found = set()
    for high in ("3", "0"):
        page.locator("#slice-high").fill(high)
        page.mouse.move(middle[0] - 30, middle[1] + 30)
        page.mouse.move(middle[0] - 20, middle[1] + 20)
        next_picture(page)
        page.wait_for_selector("#inspector .cell-title")
        found.add(page.locator("#inspector .cell-title").inner_text())
    # Seen from above, slicing uncovers what lies lower.
    assert len(found) == 2
    assert any(text.endswith(", 0)") for text in found)
    pictures = {page.locator("#canvas").screenshot()}
    page.locator("#canvas").focus()
    for keys in ("ArrowLeft", "ArrowDown", "+", "Home"):
        page.keyboard.press(keys)
        next_picture(page)
        pictures.add(page.locator("#canvas").screenshot())
    page.check("#ghosts")
    next_picture(page)
    pictures.add(page.locator("#canvas").screenshot())
    assert len(pictures) == 6
    watch.assert_quiet()
    page.close()


def test_a_tap_on_a_phone_tells_where_one_looks(browser: Browser, html: Path) -> None:
    context = browser.new_context(
        viewport={"width": 390, "height": 844}, has_touch=True, is_mobile=True
    )
    page = patient(context.new_page())
    watch = Watch(page)
    page.goto(html.as_uri())
    page.wait_for_selector("body.is-ready")
    page.locator("#plans .cell.inside").last.tap()
    told = page.locator("#inspector")
    bounds = told.bounding_box()
    assert bounds is not None
    assert bounds["y"] >= 0
    assert bounds["y"] + bounds["height"] <= 845
    assert "why" in told.inner_text()
    told.locator(".close").tap()
    assert page.locator("body.is-telling").count() == 0
    watch.assert_quiet()
    context.close()


def test_followed_cells_have_waveforms(browser: Browser, html: Path) -> None:
    page, watch = opened(browser, html)
    assert page.locator(".wave-label").count() == 3
    page.locator("#plans .cell.inside").first.focus()
    page.keyboard.press("f")
    assert page.locator(".wave-label").count() == 4
    page.locator(".wave-label button").click()
    assert page.locator(".wave-label").count() == 3
    watch.assert_quiet()
    page.close()


def test_a_cell_tells_what_it_is_and_why(browser: Browser, html: Path) -> None:
    page, watch = opened(browser, html)
    number = list(XOR.cells).index((0, 0, 2))
    page.locator(f'#plans [data-cell="{number}"]').click()
    body = page.locator("#inspector-body")
    assert "inverter on +x at (0, 0, 2)" in body.inner_text()
    assert "its host (1,0,2) is charged" in body.inner_text()
    set_inputs(page, {"a": "1"})
    page.locator(f'#plans [data-cell="{number}"]').hover()
    assert "its host (1,0,2) is not charged" in body.inner_text()
    watch.assert_quiet()
    page.close()


def test_without_three_dimensions_the_rest_works(chromium: BrowserType, html: Path) -> None:
    flat = launched(chromium, ["--disable-3d-apis"])
    page = patient(flat.new_page())
    errors: list[str] = []
    page.on("pageerror", lambda error: errors.append(str(error)))
    page.goto(html.as_uri())
    page.wait_for_selector("#switches .switch")
    assert page.locator("#no-scene").is_visible()
    set_inputs(page, {"a": "1", "b": "0"})
    assert output(page) == "1"
    assert errors == []
    flat.close()
