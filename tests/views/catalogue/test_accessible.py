"""Pages, plans and the catalogue can be used without a mouse and without eyes.

``axe-core`` (npm) judges them where it is installed: its script in ``AXE_CORE``. Checks of our own
stand beside it, so that the commonest slips are seen without it.
"""

from __future__ import annotations

import os
from itertools import pairwise
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page

from synth.layout import Layout
from synth.spec import Spec
from synth.views.judged import judge
from synth.views.page import page_html
from synth.views.plan import plan_of
from synth.views.plan_html import plan_html
from tests.views.browsing import PHONE, watched

XOR = Layout.load(Path(__file__).parents[2] / "data" / "xor2.json")
AXE = os.environ.get("AXE_CORE", "")
TAGS = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]

NAMELESS = """() => [...document.querySelectorAll(
        "button, select, input, summary, a[href], [role=button], [role=switch], svg[role=img], img"
    )].filter((node) => node.checkVisibility()).filter((node) => {
        const labelled = node.getAttribute("aria-label") || node.getAttribute("alt") !== null
            || node.getAttribute("aria-labelledby")
            || node.querySelector?.("title, img[alt]:not([alt=''])")
            || node.closest("[aria-hidden=true]")
            || (node.labels && [...node.labels].some((label) => label.textContent.trim()));
        return !labelled && !node.textContent.trim();
    }).map((node) => node.outerHTML.slice(0, 120))"""

HEADINGS = """() => [...document.querySelectorAll("h1, h2, h3, h4")]
    .filter((node) => node.checkVisibility()).map((node) => Number(node.tagName[1]))"""

SMALL = """() => [...document.querySelectorAll("button, select, input, summary")]
    .filter((node) => node.checkVisibility() && !node.closest("p, li, td"))
    .map((node) => [node.outerHTML.slice(0, 100), node.getBoundingClientRect()])
    .filter(([, box]) => Math.min(box.width, box.height) < 24).map(([text]) => text)"""
"""WCAG 2.2, criterion 2.5.8, which leaves out targets in a line of text."""


@pytest.fixture(scope="module")
def pages(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Path]:
    folder = tmp_path_factory.mktemp("accessible")
    wrong = judge(XOR, Spec.parse("q = a & b"), delay=1)
    made = {
        "page": page_html(XOR),
        "failing": page_html(XOR, judged=wrong),
        "illegal": page_html(XOR.with_cells({(0, 0, 0): None})),
        "embedded": page_html(XOR, embed=True),
        "plan": plan_html(plan_of(XOR, judged=wrong)),
    }
    for name, text in made.items():
        (folder / f"{name}.html").write_text(text, encoding="utf-8")
    return {name: folder / f"{name}.html" for name in made}


def opened(page: Page, path: Path) -> None:
    page.goto(path.as_uri())
    if page.locator("#plans").count():
        page.wait_for_selector("body.is-ready")
        if page.locator("#plans .cell").first.is_visible():
            page.locator("#plans .cell").first.click()


def judged_by_axe(page: Page) -> list[str]:
    """What axe-core finds, a line each; nothing where it is not installed."""
    if not AXE:
        return []
    page.evaluate(Path(AXE).read_text(encoding="utf-8"))
    found = page.evaluate("(tags) => axe.run({ runOnly: tags, preload: false })", TAGS)
    return [f"{f['id']}: {f['nodes'][0]['html'][:150]}" for f in found["violations"]]


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_pages_and_plans_have_no_findings(
    browser: Browser, pages: dict[str, Path], scheme: str
) -> None:
    size = {"viewport": PHONE} if scheme == "dark" else {}
    with watched(browser, color_scheme=scheme, bypass_csp=True, **size) as page:
        # By night colours differ, and on a phone sizes; the rest is the same.
        names = list(pages) if scheme == "light" else ["failing", "plan"]
        for name in names:
            path = pages[name]
            opened(page, path)
            assert page.evaluate(NAMELESS) == [], name
            assert page.evaluate(SMALL) == [], name
            levels = page.evaluate(HEADINGS)
            assert levels[0] == 1
            steps = pairwise(levels)
            assert all(after <= before + 1 for before, after in steps), name
            assert page.evaluate("document.documentElement.lang") == "en"
            assert judged_by_axe(page) == [], name


def test_the_catalogue_has_no_findings(browser: Browser, site: Path) -> None:
    with watched(browser, bypass_csp=True) as page:
        for path in (site / "index.html", *sorted((site / "gates").iterdir())[:3]):
            page.goto(path.as_uri())
            assert page.evaluate(NAMELESS) == [], path
            assert page.evaluate(SMALL) == [], path
            levels = page.evaluate(HEADINGS)
            assert levels.count(1) == 1
            assert judged_by_axe(page) == [], path
