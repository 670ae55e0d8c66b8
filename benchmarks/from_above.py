"""From above: how soon there is a layout, how it shrinks, what a window in a large layout costs.

python -m benchmarks.from_above [--rows NAME,...] [--seeds N,...] [--record FILE] [--plot FILE]

Each row is measured for every seed. With ``--record`` every measurement is kept as it is made, and
one that the file holds is not made again: so long rows can be stopped and gone on with. The load of
the machine before and after stands beside each, and the processor seconds of all its processes:
rows of a busy machine, which got fewer of them than the clock says, say little. ``--plot`` draws
the volume over time of the last row named, for its middle seed.
"""

from __future__ import annotations

import argparse
import itertools
import json
import os
import random
import statistics
import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from benchmarks.record import environment, keep
from benchmarks.singly import processor_seconds
from synth.composing import compose
from synth.encoding.windows import encode_window
from synth.layout import Layout
from synth.library import Store
from synth.library.starting import starts
from synth.medium import DEFAULT_RULES
from synth.questions.events import BestImproved, Event
from synth.questions.problem import Problem
from synth.search import solve
from synth.search.workers.solvers import DEFAULT_SOLVER
from synth.shrinking.given import aim_of
from synth.shrinking.memory import Memory
from synth.shrinking.moves import Moves
from synth.simulator import check
from synth.spec import BooleanFunction, Spec
from synth.views.drawing.shrinking_plot import ShrinkingChart, Step, shrinking_plot

MAJORITY = "q = a & b | b & c | a & c"
PARITY = "q = a ^ b ^ c"
ADDER = "s = a ^ b ^ c; co = a & b | a & c | b & c"
DECODER = "y0 = ~a & ~b; y1 = ~a & b; y2 = a & ~b; y3 = a & b"
PRODUCTS = "q = a & b & c | d & e & f"

SEGMENTS = {
    "a": "02356789",
    "b": "01234789",
    "c": "013456789",
    "d": "0235689",
    "e": "0268",
    "f": "045689",
    "g": "2345689",
}
"""The digits that light each bar of a display of seven; codes above nine are don't-cares."""

MINUTE, HOUR = 60.0, 3600.0

DEMO = Path(__file__).with_name("demo_library.sqlite")
"""The demo library."""


@dataclass(frozen=True)
class Row:
    """A question solved from both sides.

    Attributes:
        spec: what is asked.
        reach: after how many seconds which volume is to be reached, in order of time; None: any.
        stored: whether it begins with what the demo library holds.
    """

    spec: Spec
    reach: tuple[tuple[float, int | None], ...]
    stored: bool = False

    def starts(self) -> tuple[Layout, ...]:
        """The layouts of the demo library that the search begins with."""
        if not self.stored:
            return ()
        with Store.for_reading(DEMO) as store:
            return starts(store, Problem.of(self.spec)[0], self.spec.limits)


def narrow(text: str, delay: int) -> Spec:
    """2 wide, stackable along y, buffer joints, in a box that leaves room."""
    limits = {"length": 40, "width": 2, "height": 32, "delay": delay}
    return Spec.parse(text, stack="y", joint="buffer", **limits)


def segments() -> Spec:
    """The decoder of a digit of four bits to the seven bars of a display."""
    columns = {
        bar: "".join("-" if row > 9 else str(int(str(row) in lit)) for row in range(16))
        for bar, lit in SEGMENTS.items()
    }
    spec = Spec.parse("q = w", length=40, width=40, height=12, delay=12)
    return Spec(BooleanFunction(("w", "x", "y", "z"), columns), limits=spec.limits)


FIRST = ((10.0, None), (MINUTE, None))
"""A layout within ten seconds, and a better one after a minute."""

SOLVED: dict[str, Row] = {
    "question-majority": Row(narrow(MAJORITY, 4), FIRST),
    "question-parity": Row(narrow(PARITY, 4), FIRST),
    "question-decoder": Row(narrow(DECODER, 5), FIRST),
    "question-products": Row(narrow(PRODUCTS, 4), FIRST),
    "majority": Row(narrow(MAJORITY, 2), ((MINUTE, 40), (10 * MINUTE, 36))),
    "parity": Row(narrow(PARITY, 4), ((2 * MINUTE, 56), (30 * MINUTE, 48))),
    "full-adder": Row(narrow(ADDER, 4), ((5 * MINUTE, 96), (30 * MINUTE, 80), (2 * HOUR, 72))),
    "decoder": Row(narrow(DECODER, 3), ((10 * MINUTE, 64),)),
    "segments": Row(segments(), ((30 * MINUTE, 1000),)),
    "bare-parity": Row(Spec.parse(PARITY), ((MINUTE, None), (2 * MINUTE, None))),
    "stored-parity": Row(Spec.parse(PARITY), ((10.0, None), (MINUTE, None)), stored=True),
    "bare-adder": Row(Spec.parse(ADDER), ((MINUTE, None), (2 * MINUTE, None))),
    "bare-adder-6": Row(Spec.parse(ADDER, joint="buffer", delay=6), ((MINUTE, None),)),
}

Measured = dict[str, Any]


class Gains:
    """Notes every better layout with its time."""

    def __init__(self) -> None:
        self.began = time.perf_counter()
        self.gains: list[tuple[float, int, tuple[int, int, int]]] = []

    def event(self, event: Event) -> None:
        """Take note of a better layout."""
        if isinstance(event, BestImproved):
            length, width, height = event.size
            seconds = round(time.perf_counter() - self.began, 1)
            self.gains.append((seconds, length * width * height, event.size))


def solved(name: str, seed: int, most_s: float) -> Measured:
    """Solve a row's question until its last time, or ``most_s`` if that comes first."""
    row, watch = SOLVED[name], Gains()
    spec = row.spec
    outcome = solve(
        spec,
        workers=2,
        time_limit_s=min(most_s, row.reach[-1][0]),
        seed=seed,
        reporter=watch,
        fewest_parts=False,
        starts=row.starts(),
    )
    layout = outcome.layout
    passes = layout is not None and check(layout, spec, delay=spec.limits.delay).passes
    reached = []
    for seconds, goal in row.reach:
        volumes = [volume for when, volume, _ in watch.gains if when <= seconds]
        best = min(volumes, default=None)
        reached.append({"seconds": min(seconds, most_s), "reach": goal, "volume": best})
    return {
        "status": str(outcome.status),
        "passes": passes,
        "first_layout_seconds": watch.gains[0][0] if watch.gains else None,
        "reached": reached,
        "gains": watch.gains,
        "bound": outcome.bound,
        "seconds": round(time.perf_counter() - watch.began, 1),
    }


def first_layouts(seed: int) -> Measured:
    """Compose many functions: the longest time each number of inputs takes."""
    found = {}
    for name, functions in _functions(seed).items():
        slowest, missing, count = 0.0, 0, 0
        for function in functions:
            began = time.perf_counter()
            made = compose(Spec(function).replace(stack=narrow(PARITY, 4).stack))
            slowest = max(slowest, time.perf_counter() - began)
            missing += made.layout is None
            count += 1
        found[name] = {"functions": count, "missing": missing, "slowest_s": round(slowest, 3)}
    return found


def _functions(seed: int) -> dict[str, Iterator[BooleanFunction]]:
    generator = random.Random(seed)
    names = "abcdefgh"

    def drawn(inputs: int, outputs: int, count: int) -> Iterator[BooleanFunction]:
        for _ in range(count):
            columns = {
                f"q{number}": "".join(generator.choice("01") for _ in range(1 << inputs))
                for number in range(outputs)
            }
            yield BooleanFunction(tuple(names[:inputs]), columns)

    def every(inputs: int) -> Iterator[BooleanFunction]:
        for column in itertools.product("01", repeat=1 << inputs):
            yield BooleanFunction(tuple(names[:inputs]), {"q": "".join(column)})

    return {
        "every function of 3 inputs": every(3),
        "4 inputs, 1 output": drawn(4, 1, 60),
        "5 inputs, 2 outputs": drawn(5, 2, 20),
        "6 inputs, 1 output": drawn(6, 1, 10),
        "8 inputs, 1 output": drawn(8, 1, 3),
    }


def windows(seed: int) -> Measured:
    """Write windows in a layout of some 2,000 cells, of every kind that shrinking asks."""
    function = segments().function
    dark = {name: column.replace("-", "0") for name, column in function.outputs.items()}
    spec = Spec(BooleanFunction(function.inputs, dark))
    layout = compose(spec).layout
    assert layout is not None
    aim, judged = aim_of(
        layout, spec, minimize=("volume",), delay=None, pins="free", rules=DEFAULT_RULES
    )
    moves = Moves(aim, Memory(), random.Random(seed), DEFAULT_SOLVER, layout.size)
    took = []
    while len(took) < 60:
        began = time.process_time()
        move = moves.draw(judged)
        assert move is not None
        clauses = len(encode_window(move.asking.window).clauses)
        took.append(time.process_time() - began)
        moves.note(move, "impossible", False, clauses // 40)
    return {
        "cells": layout.volume,
        "windows": len(took),
        "median_processor_s": round(statistics.median(took), 3),
        "slowest_processor_s": round(max(took), 3),
    }


PLAIN: dict[str, Callable[[int], Measured]] = {"first-layouts": first_layouts, "window": windows}
"""Rows that are no search."""


def summary(name: str, measured: list[Measured]) -> str:
    """What all seeds of a row say, the middle one counting."""
    if name in PLAIN:
        return f"{name}: {json.dumps(measured[-1])}"
    texts = []
    for index, (_, goal) in enumerate(SOLVED[name].reach):
        volumes = [one["reached"][index]["volume"] for one in measured]
        middle = sorted(volumes, key=lambda value: (value is None, value))[len(volumes) // 2]
        wanted = "" if goal is None else f" (to reach: {goal})"
        after = min(one["reached"][index]["seconds"] for one in measured)
        texts.append(f"{middle} after {after:g} s{wanted}")
    firsts = [one["first_layout_seconds"] for one in measured]
    bounds = max((one["bound"] for one in measured if one["bound"] is not None), default=None)
    return f"{name}: first after {firsts} s; {', '.join(texts)}; bound {bounds}"


def plotted(name: str, rows: list[Measured], path: Path) -> None:
    """Draw the volume over time of the middle seed of a row."""
    mine = [row for row in rows if row["row"] == name and row.get("gains")]
    mine.sort(key=lambda row: row["gains"][-1][1])
    row = mine[len(mine) // 2]
    steps, best = [], None
    for seconds, volume, size in row["gains"]:
        if best is None or volume < best:
            best = volume
            steps.append(Step(seconds, volume, (size[0], size[1], size[2])))
    title = f"Solving {name.replace('-', ' ')}"
    chart = ShrinkingChart(title, "volume", steps, row["seconds"])
    path.write_bytes(shrinking_plot(chart, path.suffix.removeprefix(".")))


def main() -> None:
    """Measure, keep and print."""
    every = [*PLAIN, *SOLVED]
    parser = argparse.ArgumentParser(description="Layouts from above, over time.")
    parser.add_argument("--rows", default=",".join(every), help=f"of {', '.join(every)}")
    parser.add_argument("--seeds", default="0,1,2")
    parser.add_argument("--most", type=float, default=2 * HOUR, help="seconds a question at most")
    parser.add_argument("--record", type=Path)
    parser.add_argument("--plot", type=Path, help="an .svg or .png file")
    options = parser.parse_args()
    names = options.rows.split(",")
    if unknown := set(names) - set(every):
        parser.error(f"no row {', '.join(sorted(unknown))}; rows are {', '.join(every)}")
    rows: list[Measured] = []
    if options.record is not None and options.record.exists():
        rows = json.loads(options.record.read_text(encoding="utf-8"))["rows"]
    done = {(row["row"], row["seed"]) for row in rows}
    head = environment(DEFAULT_SOLVER)
    for name, seed in itertools.product(names, map(int, options.seeds.split(","))):
        if (name, seed) in done:
            continue
        before, began = os.getloadavg()[0], processor_seconds()
        result = PLAIN[name](seed) if name in PLAIN else solved(name, seed, options.most)
        load = [round(before, 1), round(os.getloadavg()[0], 1)]
        used = round(processor_seconds() - began, 3)
        # The head of the record tells of its last writing only.
        own = {key: head[key] for key in ("date", "commit", "changed")}
        head_of_row = {"row": name, "seed": seed, "load": load, "processor_seconds": used}
        rows.append({**head_of_row, "measured": own, **result})
        keep(options.record, solver=DEFAULT_SOLVER, rows=rows)
    for name in names:
        print(summary(name, [row for row in rows if row["row"] == name]))
    if options.plot is not None:
        plotted(names[-1], rows, options.plot)


if __name__ == "__main__":
    main()
