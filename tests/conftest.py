"""What all tests share: how hypothesis draws, a clock, a browser, how workers get their tests."""

from __future__ import annotations

import os
import signal
import threading
from collections.abc import Iterator
from typing import Any

import pytest
from hypothesis import HealthCheck, settings

from synth.machine import look_for_garbage_seldom
from synth.search.workers import crew
from tests import kept_workers
from tests.waiting import GUARD_S, Clock, standing_clock

# No example is too slow on a busy machine. Where CI is set, every run draws the same examples: red
# there is the fault of the commit, never of the draw. Elsewhere each run draws new ones, and so
# finds what the same ones never would; a failure prints how to have it again.
settings.register_profile(
    "gatefit",
    deadline=None,
    suppress_health_check=[HealthCheck.too_slow],
    derandomize=bool(os.environ.get("CI")),
    print_blob=True,
)
settings.load_profile("gatefit")

# As in every process of the command: it spares tests of composing and judging a sixth.
look_for_garbage_seldom()

# Tests stop commands by the keyboard's signal. A shell that runs the tests in the background makes
# them, and so the commands, deaf to it.
if (
    threading.current_thread() is threading.main_thread()
    and signal.getsignal(signal.SIGINT) is signal.SIG_IGN
):
    signal.signal(signal.SIGINT, signal.default_int_handler)


@pytest.fixture
def clock() -> Iterator[Clock]:
    """``time.monotonic`` of this process stands still until the test moves it."""
    with standing_clock() as standing:
        yield standing


@pytest.fixture(scope="session")
def browser() -> Iterator[Any]:
    """Headless Chromium with WebGL in software; starting it takes longer than most tests of it."""
    from playwright.sync_api import expect, sync_playwright

    from tests.views.browsing import ARGUMENTS, CHROMIUM

    assert CHROMIUM is not None, "CI must have Chromium"
    expect.set_options(timeout=GUARD_S * 1000)
    with sync_playwright() as playwright:
        started = playwright.chromium.launch(executable_path=CHROMIUM, args=ARGUMENTS)
        yield started
        started.close()


@pytest.fixture(autouse=True)
def _kept_workers(request: pytest.FixtureRequest, monkeypatch: pytest.MonkeyPatch) -> None:
    """Searches in this process take workers that other tests have left (``kept_workers``)."""
    if request.node.get_closest_marker("own_workers") is None:
        monkeypatch.setattr(crew, "Worker", kept_workers.hire)


@pytest.fixture(scope="session", autouse=True)
def _no_worker_left() -> Iterator[None]:
    yield
    kept_workers.dismiss()


@pytest.hookimpl(optionalhook=True)
def pytest_xdist_make_scheduler(config: pytest.Config, log: Any) -> Any:
    """With ``-n``, every worker gets tests that stand together, and steals when it has none left.

    So what a module makes once is made by one worker, and no worker waits for the other at the end.
    """
    if config.getoption("dist") != "load":
        return None
    from xdist.scheduler import WorkStealingScheduling

    return WorkStealingScheduling(config, log)


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """The page's commands come first: nothing takes longer, and it must not be left for the end."""
    items.sort(key=lambda item: item.path.name != "test_readme.py")
