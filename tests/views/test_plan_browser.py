"""The building plan in a real browser: its ticks stay, and its letters can be read in print."""

from __future__ import annotations

from pathlib import Path

import pytest
from playwright.sync_api import Browser, expect

from synth.layout import Layout
from synth.views.plan import plan_of
from synth.views.plan_html import plan_html
from tests.views.browsing import PHONE, overflow, watched
from tests.views.built import built_layout

TESTS = Path(__file__).parents[1]
XOR = Layout.load(TESTS / "data" / "xor2.json")
ADDER = Layout.load(TESTS.parent / "benchmarks" / "records" / "full_adder_layout.json")

NO_STORE = """
    Object.defineProperty(window, "localStorage", { get() { throw new DOMException("no"); } });
"""
PRINTED_PX = 718
"""Width of an A4 page (210 mm) within margins of 10 mm, in pixels of CSS (96 to the inch)."""


@pytest.fixture(scope="module")
def pages(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("plan")
    for name, layout in (("xor2", XOR), ("adder", ADDER), ("built", built_layout())):
        (folder / f"{name}.html").write_text(plan_html(plan_of(layout)), encoding="utf-8")
    return folder


def test_ticks_stay_and_are_counted(browser: Browser, pages: Path) -> None:
    with watched(browser, viewport=PHONE, has_touch=True, is_mobile=True) as page:
        page.goto((pages / "xor2.html").as_uri())
        progress = page.locator("#progress")
        expect(progress).to_have_text("0 of 22 parts")
        for number in (1, 4):
            page.locator(f'label:has([name="p{number}"])').tap()
        page.locator('label:has([name="t2"])').tap()
        expect(progress).to_have_text("2 of 22 parts")
        expect(page.locator(".step .count").first).to_have_text(" 1 of 3")
        page.reload()
        expect(progress).to_have_text("2 of 22 parts")
        assert page.locator('[name="t2"]').is_checked()
        page.locator("#next").tap()
        assert page.evaluate("document.activeElement.name") == "p2"
        page.goto((pages / "adder.html").as_uri())
        expect(progress).to_have_text("0 of 74 parts")
        # WCAG 2.2, criterion 2.5.8: targets of 24 by 24 pixels at least.
        for box in page.locator('input[type="checkbox"], button').all()[:40]:
            bounds = box.bounding_box()
            assert bounds is not None
            assert min(bounds["width"], bounds["height"]) >= 24
        for width in (320, 390, 820, 1100):
            page.set_viewport_size({"width": width, "height": 800})
            assert overflow(page) <= 0, width


def test_without_a_store_the_boxes_count_and_say_that_nothing_is_kept(
    browser: Browser, pages: Path
) -> None:
    with watched(browser, script=NO_STORE) as page:
        page.goto((pages / "xor2.html").as_uri())
        page.locator('[name="p1"]').check()
        expect(page.locator("#progress")).to_have_text("1 of 22 parts")
        expect(page.locator("#kept")).to_have_text(
            "This browser does not keep the ticks of this page."
        )


def test_in_print_no_picture_of_a_step_is_made_smaller(browser: Browser, pages: Path) -> None:
    """Their letters have 8 points at their own size; see ``FLAT_SCALE``."""
    with watched(browser, viewport={"width": PRINTED_PX, "height": 1000}) as page:
        page.emulate_media(media="print", color_scheme="dark")
        page.goto((pages / "adder.html").as_uri())
        shown = page.locator(".pictures img").evaluate_all(
            "(all) => all.map((img) => [img.getBoundingClientRect().width, img.width,"
            " Number(img.getAttribute('width')), img.complete && img.naturalWidth > 0])"
        )
        assert len(shown) == 2 * page.locator(".step").count()
        for drawn, _, asked, loaded in shown:
            assert loaded
            assert abs(drawn - asked) <= 1
        wide = "Math.max(...[...document.querySelectorAll('.step')].map((s) => s.scrollWidth))"
        assert page.evaluate(wide) <= PRINTED_PX
        read = "(node) => getComputedStyle(node).breakInside"
        assert page.locator(".step").first.evaluate(read) == "avoid"
        paper = "getComputedStyle(document.documentElement).getPropertyValue('--sheet').trim()"
        assert page.evaluate(paper) == "#fffefa"


def test_a_piece_is_done_when_all_its_parts_are(browser: Browser, pages: Path) -> None:
    with watched(browser, viewport=PHONE) as page:
        page.goto((pages / "built.html").as_uri())
        assert overflow(page) <= 0
        piece = page.locator("#piece-2")
        link = page.locator('.pieces a[href="#piece-2"]')
        boxes = piece.locator("input[type=checkbox]")
        for place in range(boxes.count()):
            boxes.nth(place).check()
        expect(piece).to_have_class("piece is-done")
        expect(link).to_have_class("is-done")
        boxes.first.uncheck()
        expect(link).to_have_class("")
