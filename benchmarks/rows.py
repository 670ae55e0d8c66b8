"""Rows of adder slices: how many assignments are played, and how fast.

Run from the top of the project: ``python -m benchmarks.rows``. The slice is composed, 36 x 2 x 21
cells, 566 parts, so that nothing rests on a search; each row is held against addition, in every
assignment or in many at random. Seconds are those of the processor; ``--record FILE`` keeps them.
"""

from __future__ import annotations

import argparse
import time
from pathlib import Path
from typing import Any

from benchmarks.record import keep
from synth.composing import compose
from synth.layout import Layout
from synth.simulator import check
from synth.simulator.rows import check_row
from synth.spec import Spec
from synth.spec.targets import load_target

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
    layout = compose(spec).layout
    assert layout is not None
    rows = []
    print(f"{'copies':>6}{'parts':>8}{'assignments':>13}{'delay':>7}{'seconds':>9}{'a minute':>14}")
    for copies, samples in ROWS:
        row = measured(layout, spec, copies, samples)
        print(
            f"{copies:>6}{row['parts']:>8}{row['assignments']:>13,}{row['delay'] or '-':>7}"
            f"{row['seconds']:>9.2f}{row['assignments_a_minute']:>14,}",
            flush=True,
        )
        rows.append(row)
    keep(options.record, solver="none", rows=rows)


if __name__ == "__main__":
    main()
