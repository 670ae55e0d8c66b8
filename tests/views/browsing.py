"""A real browser for the tests of pages: headless Chromium, started once."""

from __future__ import annotations

import os
import shutil

import pytest
from playwright.sync_api import Browser, BrowserType, Page

from tests.waiting import GUARD_S

CHROMIUM = shutil.which("chromium") or shutil.which("chromium-browser")

ARGUMENTS = [
    "--no-sandbox",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--no-first-run",
]
SOFTWARE_GL = ["--use-gl=angle", "--use-angle=swiftshader", "--enable-unsafe-swiftshader"]


def skip_without_chromium() -> None:
    """Skip a module where Chromium is not installed; where CI is set, its tests fail."""
    if CHROMIUM is None and not os.environ.get("CI"):
        pytest.skip("Chromium is not installed", allow_module_level=True)


def launched(chromium: BrowserType, extra: list[str]) -> Browser:
    """A browser with more arguments."""
    assert CHROMIUM is not None, "CI must have Chromium"
    return chromium.launch(
        executable_path=CHROMIUM, args=[*ARGUMENTS, *extra], timeout=GUARD_S * 1000
    )


def patient(page: Page) -> Page:
    """The page, which waits for what is to come however long a busy machine takes."""
    page.set_default_timeout(GUARD_S * 1000)
    return page


def next_picture(page: Page) -> None:
    """Wait until what a page draws on its own time has been drawn: two frames."""
    page.evaluate(
        "() => new Promise(done => requestAnimationFrame(() => requestAnimationFrame(done)))"
    )
