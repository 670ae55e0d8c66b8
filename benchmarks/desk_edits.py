"""How soon the desk shows power after an edit, in headless Chromium, with 300 and 1,000 parts.

    python -m benchmarks.desk_edits [--record FILE]

From the key that puts a part until the layers show what it did (the page's order, the server's
edit, journal, play and drawing data, and the page's own drawing), and until the frame in which
the model does as well, which here is drawn in software. Rows of an exclusive-or make the designs;
the first two copies keep their pins, so that the verdict has something to judge beside it.
"""

from __future__ import annotations

import argparse
import os
import statistics
import subprocess
import sys
import tempfile
from pathlib import Path

from playwright.sync_api import Page, sync_playwright

from benchmarks.record import keep
from synth.layout import Layout
from synth.layout.transform import repeated
from synth.search.workers.solvers import DEFAULT_SOLVER
from tests.stored import stored_layout
from tests.views.browsing import ARGUMENTS, CHROMIUM, DESKTOP

GOALS_MS = {300: 50, 1000: 150}
EDITS = 40
GAP_MS = 250
WITH_PINS = 2

MEASURE = """async ([edits, gap]) => {
    const board = document.querySelector("#board");
    const frame = () => new Promise((done) => requestAnimationFrame(done));
    const shown = (before) => new Promise((done) => {
        const look = () => document.body.dataset.revision === before ? null : done();
        const watch = new MutationObserver(() => look() === undefined && watch.disconnect());
        watch.observe(document.body, { attributes: true });
    });
    const times = [];
    for (let edit = 0; edit < edits; edit += 1) {
        await new Promise((done) => setTimeout(done, gap));
        const before = document.body.dataset.revision;
        const changed = shown(before);
        const began = performance.now();
        const key = edit % 2 ? "x" : "l";
        board.dispatchEvent(new KeyboardEvent("keydown", { key, bubbles: true }));
        await changed;
        const layers = performance.now() - began;
        await frame();
        times.push([layers, performance.now() - began]);
    }
    return times;
}"""


def design(parts: int) -> Layout:
    """A row of exclusive-ors of about so many parts; only the first copies have pins."""
    gate = stored_layout("xor2")
    row = repeated(gate, "y", round(parts / gate.part_count))
    kept = row.pins[: WITH_PINS * len(gate.pins)]
    # One slice more, empty: there the edits are made.
    return row.replace(pins=kept, size=(row.length, row.width + 1, row.height))


def measured(page: Page, address: str, name: str, width: int) -> list[list[float]]:
    """Milliseconds of each edit, until the layers show it, and until the model does."""
    page.goto(f"{address}?design={name}")
    page.wait_for_selector("body.is-ready.has-scene")
    board = page.locator("#board")
    board.focus()
    board.press("PageDown")
    for _ in range(width):
        board.press("ArrowUp")
    times: list[list[float]] = page.evaluate(MEASURE, [EDITS, GAP_MS])
    return times


def main() -> None:
    """Measure and print."""
    parser = argparse.ArgumentParser(description="Measure the desk's answers to edits.")
    parser.add_argument("--record", type=Path)
    options = parser.parse_args()
    rows = []
    with tempfile.TemporaryDirectory() as folder, sync_playwright() as playwright:
        for parts in GOALS_MS:
            design(parts).save(Path(folder) / f"{parts}.json")
        served = subprocess.Popen(
            [sys.executable, "-m", "synth.cli.main", "desk", "--no-browser"],
            cwd=folder,
            env={**os.environ, "PYTHONPATH": str(Path(__file__).resolve().parents[1])},
            stdout=subprocess.PIPE,
            text=True,
        )
        assert served.stdout is not None
        address = served.stdout.readline().strip()
        browser = playwright.chromium.launch(executable_path=CHROMIUM, args=ARGUMENTS)
        try:
            for parts, goal in GOALS_MS.items():
                layout = design(parts)
                page = browser.new_page(viewport=DESKTOP)
                times = measured(page, address, f"{parts}.json", layout.width)
                page.close()
                layers, model = (sorted(column) for column in zip(*times, strict=True))
                row = {
                    "parts": layout.part_count,
                    "edits": len(times),
                    "layers_median_ms": round(statistics.median(layers), 1),
                    "layers_nine_of_ten_ms": round(layers[len(layers) * 9 // 10 - 1], 1),
                    "model_median_ms": round(statistics.median(model), 1),
                    "model_nine_of_ten_ms": round(model[len(model) * 9 // 10 - 1], 1),
                    "goal_ms": goal,
                }
                rows.append(row)
                print(row)
        finally:
            browser.close()
            served.terminate()
            served.wait()
    if options.record is not None:
        load = round(os.getloadavg()[0], 1) if hasattr(os, "getloadavg") else None
        keep(options.record, solver=DEFAULT_SOLVER, load_at_the_end=load, rows=rows)


if __name__ == "__main__":
    main()
