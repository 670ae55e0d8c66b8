"""The browser of all tests of pages."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from playwright.sync_api import Browser, BrowserType, expect, sync_playwright

from tests.views.browsing import SOFTWARE_GL, launched
from tests.waiting import GUARD_S


@pytest.fixture(scope="package")
def chromium() -> Iterator[BrowserType]:
    with sync_playwright() as playwright:
        expect.set_options(timeout=GUARD_S * 1000)
        yield playwright.chromium


@pytest.fixture(scope="package")
def browser(chromium: BrowserType) -> Iterator[Browser]:
    browser = launched(chromium, SOFTWARE_GL)
    yield browser
    browser.close()
