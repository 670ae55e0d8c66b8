"""How quick and how large a catalogue of hundreds of gates is, in a real browser.

Run from the top of the project: ``python -m benchmarks.catalogue_size``. Gates and figures are
invented, layouts are random legal ones of the size that gates of two to four inputs take, so that
the pages weigh what they would weigh: nothing here says anything about real gates. Needs
Chromium and playwright. Prints one document; ``--record FILE`` keeps it.
"""

from __future__ import annotations

import argparse
import itertools
import json
import random
import shutil
import statistics
import tempfile
import time
from collections.abc import Callable, Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any

from benchmarks.record import keep
from benchmarks.simulator_speed import random_legal
from synth.layout import Layout
from synth.library import Entry
from synth.library.canonical import function_key
from synth.medium import Size
from synth.questions.outcome import Status
from synth.spec import BooleanFunction, Spec
from synth.spec.writing import write_spec
from synth.views.catalogue import MARKER, Item, gates_of, site_files, write_folder

SIZES: dict[int, Size] = {2: (4, 2, 4), 3: (5, 2, 5), 4: (6, 3, 5)}
"""A box for so many inputs."""

ROUNDS = 5
"""Times each step is measured; the median is told."""


def invented(gates: int, layouts: int, seed: int) -> Iterator[Item]:
    """So many functions with so many answers each."""
    rng = random.Random(seed)
    keys: set[str] = set()
    numbers = itertools.count(1)
    while len(keys) < gates:
        inputs = 2 if len(keys) < 8 else 3 if len(keys) < 70 else 4
        column = "".join(rng.choice("01") for _ in range(1 << inputs))
        names = tuple(f"x{index + 1}" for index in range(inputs))
        spec = Spec(BooleanFunction(names, {"y1": column}))
        key = function_key(spec.function)
        if key in keys:
            continue
        keys.add(key)
        for answer in range(layouts):
            yield _item(spec, key, next(numbers), answer, rng)


def _item(spec: Spec, key: str, number: int, answer: int, rng: random.Random) -> Item:
    inputs = len(spec.function.inputs)
    layout = _named(random_legal(SIZES[inputs], rng.randrange(1 << 30), inputs), spec)
    # Figures differ from answer to answer, so that each has a card and a mark of its own.
    delay, saved = answer + 1, 2 * answer
    entry = Entry(
        number=number,
        key=str(number),
        function_key=key,
        name="",
        inputs=inputs,
        outputs=1,
        function="",
        table=spec.function.outputs["y1"],
        stack=rng.choice(["", "y"]),
        joints="wire",
        minimize=("volume",),
        delay_asked=delay,
        status=Status.FOUND,
        proven=rng.random() < 0.7,
        length=layout.length,
        width=layout.width,
        height=layout.height,
        volume=layout.volume - saved,
        floor=layout.floor,
        parts=layout.part_count,
        delay=delay,
        bound=None,
        proof=None,
        solver="none",
        seed=0,
        seconds=1.0,
        version="",
        made="2000-01-01",
    )
    claim = "; ".join(["invented, to measure how large a page is"] * 6)
    return Item(entry, layout, write_spec(spec), claim)


def _named(layout: Layout, spec: Spec) -> Layout:
    """The layout with the names of pins that a specification has, in their order."""
    pins = (*layout.inputs, *layout.outputs)
    named = zip(pins, spec.pin_names, strict=True)
    return layout.replace(pins=tuple(replace(pin, name=name) for pin, name in named))


def measured(gates: int, layouts: int, seed: int, folder: Path) -> dict[str, Any]:
    """Builds a catalogue in ``folder`` and browses it; sizes in bytes, times in seconds."""
    items = list(invented(gates, layouts, seed))
    started = time.perf_counter()
    write_folder(folder, site_files(gates_of(items)), marker=MARKER)
    built = time.perf_counter() - started
    sizes = {
        str(path.relative_to(folder)): path.stat().st_size
        for path in folder.rglob("*")
        if path.is_file()
    }
    pages = {
        part: [size for name, size in sizes.items() if name.startswith(part)]
        for part in ("gates/", "layouts/")
    }
    return {
        "gates": gates,
        "layouts": len(items),
        "build_s": round(built, 1),
        "total_bytes": sum(sizes.values()),
        "shared_bytes": sum(size for name, size in sizes.items() if name.startswith("assets/")),
        "index_bytes": sizes["index.html"],
        "gate_page_bytes": round(statistics.median(pages["gates/"])),
        "bytes_a_layout": round(sum(pages["layouts/"]) / len(items)),
        **browsed(folder),
    }


def browsed(folder: Path) -> dict[str, Any]:
    """How long the browser takes; medians of ``ROUNDS``."""
    from playwright.sync_api import sync_playwright

    arguments = ["--no-sandbox", "--use-gl=angle", "--use-angle=swiftshader"]
    arguments.append("--enable-unsafe-swiftshader")
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(
            executable_path=shutil.which("chromium"), args=arguments
        )
        page = browser.new_page(viewport={"width": 1280, "height": 900})

        def load(path: Path, ready: str) -> Callable[[], object]:
            def go() -> None:
                page.goto("about:blank")
                page.goto(path.as_uri())
                page.wait_for_selector(ready)

            return go

        def acted(script: str) -> Callable[[], float]:
            # Reading a height makes the browser lay the page out, which is part of the wait.
            whole = f"""() => {{
                const started = performance.now();
                {script};
                document.body.offsetHeight;
                return (performance.now() - started) / 1000;
            }}"""
            return lambda: float(page.evaluate(whole))

        typed = """const field = document.querySelector('[name="text"]');
            field.value = field.value === "x1 ^" ? "x2" : "x1 ^";
            field.dispatchEvent(new Event("input", {bubbles: true}))"""
        limited = """const field = document.querySelector('[name="delay"]');
            field.value = field.value === "1" ? "2" : "1";
            field.dispatchEvent(new Event("input", {bubbles: true}))"""
        ordered = "document.querySelector('.c-volume button').click()"
        gate = max((folder / "gates").iterdir(), key=lambda path: path.stat().st_size)
        layout = folder / "layouts" / "1.html"
        result = {
            "index_load_s": _clock(load(folder / "index.html", "body.is-ready")),
            "filter_text_s": _median(acted(typed)),
            "filter_delay_s": _median(acted(limited)),
            "sort_s": _median(acted(ordered)),
            "gate_load_s": _clock(load(gate, ".card")),
            "layout_load_s": _clock(load(layout, "body.is-ready")),
            "chromium": browser.version,
        }
        browser.close()
    return result


def _clock(action: Callable[[], object]) -> float:
    def once() -> float:
        started = time.perf_counter()
        action()
        return time.perf_counter() - started

    return _median(once)


def _median(action: Callable[[], float]) -> float:
    return round(statistics.median(action() for _ in range(ROUNDS)), 3)


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--gates", type=int, nargs="+", default=[300])
    parser.add_argument("--layouts", type=int, default=3, help="of each gate")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--record", type=Path)
    options = parser.parse_args()
    results = []
    for gates in options.gates:
        with tempfile.TemporaryDirectory() as folder:
            results.append(measured(gates, options.layouts, options.seed, Path(folder) / "site"))
    print(json.dumps(results, indent=1))
    keep(options.record, solver="none", results=results)


if __name__ == "__main__":
    main()
