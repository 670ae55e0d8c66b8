"""The desk can be used without a mouse and without eyes: as the pages are judged, so is it."""

from __future__ import annotations

from itertools import pairwise
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page

from tests.desk.serving import Served, opened
from tests.stored import stored_layout
from tests.views.browsing import NO_MODEL, PHONE, overflow, watched
from tests.views.catalogue.test_accessible import HEADINGS, NAMELESS, SMALL, judged_by_axe


def findings(page: Page) -> list[str]:
    """Everything that is wrong with what is shown."""
    levels = page.evaluate(HEADINGS)
    found = [*page.evaluate(NAMELESS), *page.evaluate(SMALL), *judged_by_axe(page)]
    if levels[0] != 1 or any(after > before + 1 for before, after in pairwise(levels)):
        found.append(f"headings {levels}")
    if overflow(page) > 0:
        found.append(f"wider than the window by {overflow(page)}")
    return found


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_the_desk_and_its_dialogs_have_no_findings(
    browser: Browser, tmp_path: Path, scheme: str
) -> None:
    stored_layout("xor2").with_cells({(0, 0, 0): None}).save(tmp_path / "short.json")
    served = Served(tmp_path, "short.json")
    size = {"viewport": PHONE} if scheme == "dark" else {}
    script = NO_MODEL if scheme == "dark" else ""
    try:
        with watched(
            browser, script=script, own=served.origins, color_scheme=scheme, bypass_csp=True, **size
        ) as page:
            opened(page, served.address, "short.json")
            page.wait_for_selector(".remedy")
            page.get_by_role("button", name="Keep this one").click()
            page.wait_for_selector(".version-list li")
            page.get_by_role("button", name="Beside").click()
            page.wait_for_selector("#beside .plan")
            assert findings(page) == []
            for dialog, button in (("files", "Files"), ("lessons", "Lessons"), ("keys", "Keys")):
                page.get_by_role("button", name=button, exact=True).click()
                page.wait_for_selector(f"#{dialog}[open]")
                assert findings(page) == [], dialog
                page.keyboard.press("Escape")
            page.get_by_role("button", name="Set a pin").click()
            assert findings(page) == []
            page.keyboard.press("Escape")
            page.get_by_role("button", name="Lessons", exact=True).click()
            page.get_by_role("button", name="See-through supports").click()
            page.wait_for_selector("#lesson:not([hidden])")
            assert findings(page) == []
    finally:
        served.end()
