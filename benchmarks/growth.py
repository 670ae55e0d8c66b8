"""How the time of one question grows with volume, with delay and with the number of inputs.

    python -m benchmarks.growth [--time-limit SECONDS] [--record FILE] [--plot FILE]
    python -m benchmarks.growth --from RECORD --plot FILE       # draw what was measured

Each question is asked whole, in a worker of its own, with every acceleration: seconds of writing
the formula and of solving it. All are 2-wide and stackable along y, with buffer joints.
"""

from __future__ import annotations

import argparse
import json
from pathlib import Path
from typing import Any

from benchmarks.asking import asked
from benchmarks.record import keep
from synth.encoding import Question
from synth.medium import Size
from synth.search.workers.solvers import DEFAULT_SOLVER
from synth.search.workers.task import Task
from synth.spec import Spec

XOR = "q = a ^ b"
SERIES: dict[str, tuple[str, list[tuple[int, str, Size, int]]]] = {
    "volume": (
        "cells of the box; exclusive-or, 2 ticks",
        [
            (length * 2 * height, XOR, (length, 2, height), 2)
            for length, height in ((2, 2), (2, 3), (3, 3), (3, 4), (3, 5), (4, 4), (4, 5), (5, 5))
        ],
    ),
    "delay": (
        "ticks; exclusive-or, 3 x 2 x 4",
        [(delay, XOR, (3, 2, 4), delay) for delay in range(1, 9)],
    ),
    "inputs": (
        "inputs of an AND, 3 x 2 x 4, 2 ticks",
        [(count, "q = " + " & ".join("abcdef"[:count]), (3, 2, 4), 2) for count in range(1, 7)],
    ),
}
"""For each panel what is on its axis, and (where, function, box, ticks) of each question."""


def measured(text: str, size: Size, delay: int, limit_s: float) -> dict[str, Any]:
    """Ask one question."""
    spec = Spec.parse(text, joint="buffer", stack="y")
    question = Question(spec, size, delay, sensitive=True)
    answer = asked(Task(question, DEFAULT_SOLVER), limit_s)
    if answer["seconds"] is None:
        answer["seconds"] = limit_s
    return {"function": text, "size": list(size), "delay": delay, **answer}


def drawn(rows: list[dict[str, Any]], path: Path) -> None:
    """One panel a series; the answer is told by the shape of the mark."""
    from matplotlib.figure import Figure

    marks = {"found": "o", "impossible": "x", "not in time": "^"}
    figure = Figure(figsize=(9.6, 3.6), layout="constrained")
    for panel, (name, (axis, _)) in zip(
        figure.subplots(1, len(SERIES), sharey=True), SERIES.items(), strict=True
    ):
        mine = [row for row in rows if row["series"] == name]
        panel.plot(
            [row["at"] for row in mine], [row["seconds"] for row in mine], color="0.6", zorder=1
        )
        for answer, mark in marks.items():
            some = [row for row in mine if row["answer"] == answer]
            panel.scatter(
                [row["at"] for row in some],
                [row["seconds"] for row in some],
                marker=mark,
                color="black",
                label=answer,
                zorder=2,
            )
        panel.set_yscale("log")
        panel.set_xlabel(axis)
        panel.grid(color="0.9")
    figure.axes[0].set_ylabel("seconds")
    figure.axes[0].legend()
    figure.savefig(path, dpi=160)


def main() -> None:
    """Measure or read, print, draw, record."""
    parser = argparse.ArgumentParser(description="Measure how questions grow.")
    parser.add_argument("--time-limit", type=float, default=300.0, help="seconds a question")
    parser.add_argument("--record", type=Path)
    parser.add_argument("--from", dest="recorded", type=Path)
    parser.add_argument("--plot", type=Path)
    options = parser.parse_args()
    if options.recorded is not None:
        rows = json.loads(options.recorded.read_text(encoding="utf-8"))["rows"]
    else:
        rows = []
        for name, (_, questions) in SERIES.items():
            for at, text, size, delay in questions:
                row = {"series": name, "at": at, **measured(text, size, delay, options.time_limit)}
                rows.append(row)
                print(f"{name:<8} {at:>3} {row['answer']:<12} {row['seconds']:>9.2f} s", flush=True)
    if options.recorded is None:
        keep(options.record, solver=DEFAULT_SOLVER, rows=rows)
    if options.plot:
        drawn(rows, options.plot)


if __name__ == "__main__":
    main()
