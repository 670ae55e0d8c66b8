"""How long repair takes, and how many changes it needs: gates and a composed layout with faults.

Run from the top of the project: ``python -m benchmarks.repair_speed``. Faults are planted at
random, one to three in a layout. "few" counts the repairs with no more changes than were planted.
``--record FILE`` keeps the figures.
"""

from __future__ import annotations

import argparse
import random
import time
from pathlib import Path
from typing import Any

from benchmarks.record import keep
from synth.composing import compose
from synth.layout import Layout
from synth.medium import DEFAULT_RULES
from synth.questions.outcome import Status
from synth.repairing import repair
from synth.reviewing.change import cell_changes
from synth.search import solve
from synth.search.workers.solvers import DEFAULT_SOLVER
from synth.simulator import check
from synth.spec import Spec

EACH = 5
"""Wrong layouts of a kind."""

TIME_LIMIT_S = 30.0
"""Seconds that each repair may take."""


def planted(layout: Layout, spec: Spec, faults: int, rng: random.Random) -> Layout:
    """The layout with so many cells changed, one after the other, so that it is wrong."""
    while True:
        changed = layout
        for _ in range(faults):
            cell = rng.choice(list(changed.cells))
            changes = list(cell_changes(changed, cell, DEFAULT_RULES))
            changed = rng.choice(changes).on(changed)
        if not check(changed, spec).passes:
            return changed


def layouts() -> list[tuple[str, Layout, Spec, tuple[int, ...]]]:
    """The right layouts, what they do, and how many faults are planted in them."""
    gate = Spec.parse("q = a ^ b", length=4, width=2, height=4, delay=2, stack="y")
    found = solve(gate, fewest_parts=False).layout
    parity = Spec.parse("q = a ^ b ^ c", stack="y")
    composed = compose(parity).layout
    assert found is not None
    assert composed is not None
    parity = Spec.parse("q = a ^ b ^ c", stack="y", delay=check(composed, parity).delay)
    return [("gate", found, gate, (1, 2, 3)), ("composed parity", composed, parity, (1,))]


def main() -> None:
    """Measure, print the table, record."""
    parser = argparse.ArgumentParser(description="How long repair takes.")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--record", type=Path)
    options = parser.parse_args()
    rng = random.Random(options.seed)
    rows: list[dict[str, Any]] = []
    heads = f"{'layout':<18}{'parts':>6}{'faults':>8}{'found':>7}{'few':>5}"
    print(f"{heads}{'median s':>10}{'worst s':>9}")
    for name, right, spec, counts in layouts():
        for faults in counts:
            wrong = [planted(right, spec, faults, rng) for _ in range(EACH)]
            seconds, found, few = [], 0, 0
            for layout in wrong:
                began = time.perf_counter()
                mended = repair(layout, spec, time_limit_s=TIME_LIMIT_S)
                seconds.append(time.perf_counter() - began)
                found += mended.status is Status.FOUND
                few += mended.layout is not None and mended.changes <= faults
            seconds.sort()
            row = {
                "layout": name,
                "parts": right.part_count,
                "faults": faults,
                "tried": EACH,
                "found": found,
                "few": few,
                "median_s": round(seconds[EACH // 2], 2),
                "worst_s": round(seconds[-1], 2),
            }
            print(
                f"{name:<18}{right.part_count:>6}{faults:>8}{found:>7}{few:>5}"
                f"{row['median_s']:>10}{row['worst_s']:>9}",
                flush=True,
            )
            rows.append(row)
    keep(options.record, solver=DEFAULT_SOLVER, time_limit_s=TIME_LIMIT_S, rows=rows)


if __name__ == "__main__":
    main()
