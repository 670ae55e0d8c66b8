"""What all tests in a browser share: how it starts, and pages that must complain of nothing."""

from __future__ import annotations

import os
import shutil
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import pytest

CHROMIUM = shutil.which("chromium") or shutil.which("chromium-browser")
if CHROMIUM is None and not os.environ.get("CI"):
    pytest.skip("Chromium is not installed", allow_module_level=True)

from playwright.sync_api import Browser, Page  # noqa: E402

from tests.waiting import GUARD_S  # noqa: E402

ARGUMENTS = [
    "--no-sandbox",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-quic",
    "--disable-sync",
    "--no-first-run",
    "--use-gl=angle",
    "--use-angle=swiftshader",
    "--enable-unsafe-swiftshader",
]
PHONE = {"width": 390, "height": 844}
DESKTOP = {"width": 1280, "height": 900}

NO_MODEL = """
    const real = HTMLCanvasElement.prototype.getContext;
    HTMLCanvasElement.prototype.getContext = function (kind, ...rest) {
        return kind.startsWith("webgl") ? null : real.call(this, kind, ...rest);
    };
"""
"""A script that makes a page believe that its browser has no WebGL."""


class Watch:
    """Everything a page complains of and every address it asks for.

    Args:
        page: the page.
        own: with what addresses may begin that it may ask for, besides files.
    """

    def __init__(self, page: Page, own: tuple[str, ...] = ()) -> None:
        self.own = ("file:", "data:", "blob:", *own)
        self.complaints: list[str] = []
        self.requests: list[str] = []
        page.on("console", self._console)
        page.on("pageerror", lambda error: self.complaints.append(str(error)))
        page.on("requestfailed", self._failed)
        page.on("request", lambda request: self.requests.append(request.url))

    def _console(self, message: Any) -> None:
        if message.type in ("error", "warning") and "GPU stall" not in message.text:
            self.complaints.append(message.text)

    def _failed(self, request: Any) -> None:
        # A test that leaves a page aborts what a busy machine has not fetched yet.
        if request.failure != "net::ERR_ABORTED":
            self.complaints.append(f"failed: {request.url[:200]}: {request.failure}")

    def assert_quiet(self) -> None:
        assert not self.complaints, self.complaints
        assert all(url.startswith(self.own) for url in self.requests), self.requests


@contextmanager
def watched(
    browser: Browser, *, script: str = "", own: tuple[str, ...] = (), **options: Any
) -> Iterator[Page]:
    """A page of a context of its own that must complain of nothing and fetch nothing.

    But for addresses that begin as one of ``own``.
    """
    context = browser.new_context(**({"viewport": DESKTOP} | options))
    if script:
        context.add_init_script(script)
    page = context.new_page()
    # However long a busy machine takes.
    page.set_default_timeout(GUARD_S * 1000)
    watch = Watch(page, own)
    try:
        yield page
    finally:
        context.close()
    watch.assert_quiet()


def ready(page: Page, path: Path, fragment: str = "") -> Page:
    """Open the page of a layout and wait until its model is there, too."""
    page.goto(path.as_uri() + fragment)
    page.wait_for_selector("body.is-ready")
    return page


def overflow(page: Page) -> int:
    """By how many pixels a page is wider than its window."""
    return int(page.evaluate("document.documentElement.scrollWidth - window.innerWidth"))


def until(page: Page, condition: str) -> None:
    """Wait until an expression holds; the pages' own policy lets no waiting script be made."""
    began = time.perf_counter()
    while not page.evaluate(condition):
        assert time.perf_counter() - began < GUARD_S, f"never: {condition}"
        page.wait_for_timeout(50)
