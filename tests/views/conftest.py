"""One browser for all tests of a session: starting it takes longer than most of them."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import pytest

from tests.waiting import GUARD_S


@pytest.fixture(scope="session")
def browser() -> Iterator[Any]:
    """Headless Chromium with WebGL in software."""
    from playwright.sync_api import expect, sync_playwright

    from tests.views.browsing import ARGUMENTS, CHROMIUM

    assert CHROMIUM is not None, "CI must have Chromium"
    expect.set_options(timeout=GUARD_S * 1000)
    with sync_playwright() as playwright:
        started = playwright.chromium.launch(executable_path=CHROMIUM, args=ARGUMENTS)
        yield started
        started.close()
