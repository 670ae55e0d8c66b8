"""A desk in a process of its own, as a user starts it; and what its folder then holds."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
from pathlib import Path

from playwright.sync_api import Page

from synth.desk.journal import Journal
from synth.layout import Layout
from synth.medium import Cell
from tests.views.browsing import until

ROOT = Path(__file__).resolve().parents[2]
UNIT, EDGE = 60, 86
"""Of the drawings of layers: the side of a cell, and what lies beyond the frame."""


class Served:
    """A desk that runs in a folder.

    Attributes:
        folder: where it works.
        address: of its page.
    """

    def __init__(self, folder: Path, *arguments: str) -> None:
        self.folder = folder
        self.arguments = arguments
        self.start()

    def start(self) -> None:
        """Start it, and wait until it says its address."""
        path = os.pathsep.join(filter(None, [str(ROOT), os.environ.get("PYTHONPATH")]))
        self.process = subprocess.Popen(
            [sys.executable, "-m", "synth.cli.main", "desk", *self.arguments, "--no-browser"],
            cwd=self.folder,
            env={**os.environ, "PYTHONPATH": path},
            stdout=subprocess.PIPE,
            stderr=subprocess.DEVNULL,
            text=True,
        )
        assert self.process.stdout is not None
        self.address = self.process.stdout.readline().strip()
        assert self.address.startswith("http://127.0.0.1:")

    @property
    def origins(self) -> tuple[str, ...]:
        """What its page may ask for."""
        return (self.address, self.address.replace("http:", "ws:", 1))

    def kill(self) -> None:
        """End it without a word."""
        self.process.kill()
        self._gone()

    def end(self) -> int:
        """End it as the keyboard does; its exit code."""
        self.process.send_signal(signal.SIGINT)
        return self._gone()

    def _gone(self) -> int:
        code = self.process.wait()
        assert self.process.stdout is not None
        self.process.stdout.close()
        return code

    def layout(self, name: str) -> Layout:
        """The layout of a design, as its journal has it."""
        path = self.folder / ".gatefit-desk" / f"{name}.journal"
        return Journal.resumed(path).kept.history.design.layout


def opened(page: Page, address: str, name: str) -> Page:
    """Open a design and wait until all of it is shown, and judged."""
    page.goto(f"{address}?design={name}")
    page.wait_for_selector("body.is-ready.has-scene")
    until(page, "!document.querySelector('#verdict').classList.contains('is-stale')")
    return page


def revision(page: Page) -> int:
    """Which revision of the design is shown."""
    return int(page.evaluate("Number(document.body.dataset.revision)"))


class Edit:
    """Within it the page's design changes by so many steps; it ends when they are shown."""

    def __init__(self, page: Page, steps: int = 1) -> None:
        self.page = page
        self.steps = steps

    def __enter__(self) -> None:
        self.before = revision(self.page)

    def __exit__(self, *_: object) -> None:
        until(self.page, f"Number(document.body.dataset.revision) >= {self.before + self.steps}")


def spot(page: Page, cell: Cell, width: int) -> tuple[float, float]:
    """The middle of a cell on its layer, in the window; ``width`` is that of the layout."""
    x, y, z = cell
    drawing = page.locator(f'#plans .plan[data-layer="{z}"] svg')
    drawing.scroll_into_view_if_needed()
    box = drawing.bounding_box()
    assert box is not None
    scale = box["height"] / (width * UNIT + 2 * EDGE)
    across, down = EDGE + (x + 0.5) * UNIT, EDGE + (width - y - 0.5) * UNIT
    return box["x"] + across * scale, box["y"] + down * scale


def drag(page: Page, start: tuple[float, float], end: tuple[float, float]) -> None:
    """Press, move and let go."""
    page.mouse.move(*start)
    page.mouse.down()
    page.mouse.move((start[0] + end[0]) / 2, (start[1] + end[1]) / 2, steps=4)
    page.mouse.move(*end, steps=4)
    page.mouse.up()
