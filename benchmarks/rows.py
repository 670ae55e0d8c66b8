"""Rows of adder slices: how many assignments are played, and how fast.

Run from the top of the project: ``python -m benchmarks.rows``. One slice is composed, 36 x 2 x 21
cells, so that nothing rests on a search, the other is the smallest known. Each row is held against
addition, in every assignment or in many at random. Seconds are those of the processor;
``--record FILE`` keeps them.
"""

from __future__ import annotations

import argparse
import time
from itertools import product
from pathlib import Path
from typing import Any

from benchmarks.record import keep
from synth.composing import compose
from synth.layout import Layout
from synth.simulator import check
from synth.simulator.rows import check_row
from synth.spec import Spec
from synth.spec.targets import load_target

SMALLEST = Path(__file__).with_name("records") / "adder_slice_layout.json"
"""The smallest adder slice known."""

ROWS: tuple[tuple[int, int | None], ...] = ((1, None), (4, 100_000), (8, None), (64, 10_000))
"""Copies, and assignments at random or None for every one."""


def measured(layout: Layout, spec: Spec, copies: int, samples: int | None) -> dict[str, Any]:
    """One row, played."""
    delay = check(layout, spec).delay
    assert delay is not None
    began, wall = time.process_time(), time.perf_counter()
    row = check_row(layout, spec.function, copies, due=delay * copies, samples=samples)
    seconds, wall = time.process_time() - began, time.perf_counter() - wall
    return {
        "copies": copies,
        "parts": layout.part_count * copies,
        "assignments": row.assignments,
        "every": row.every,
        "passes": row.passes,
        "delay": row.delay,
        "seconds": round(seconds, 2),
        "wall_s": round(wall, 2),
        "assignments_a_minute": round(60 * row.assignments / seconds),
    }


def main() -> None:
    """Measure, print the table, record."""
    parser = argparse.ArgumentParser(description="Rows of adder slices, played.")
    parser.add_argument("--record", type=Path)
    options = parser.parse_args()
    spec = load_target("full-adder-slice")
    composed = compose(spec).layout
    assert composed is not None
    slices = {"composed": composed, "smallest known": Layout.load(SMALLEST)}
    rows = []
    heads = (
        f"{'copies':>6}{'parts':>8}{'assignments':>13}{'delay':>7}{'seconds':>9}{'a minute':>14}"
    )
    print(f"{'slice':<15}{heads}")
    for (name, layout), (copies, samples) in product(slices.items(), ROWS):
        row = {"slice": name, **measured(layout, spec, copies, samples)}
        print(
            f"{name:<15}{copies:>6}{row['parts']:>8}{row['assignments']:>13,}"
            f"{row['delay'] or '-':>7}{row['seconds']:>9.2f}{row['assignments_a_minute']:>14,}",
            flush=True,
        )
        rows.append(row)
    keep(options.record, solver="none", rows=rows)


if __name__ == "__main__":
    main()
