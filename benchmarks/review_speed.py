"""How long a review takes: a gate, and composed layouts of 250 to 1,300 parts.

Run from the top of the project: ``python -m benchmarks.review_speed``. Each layout is reviewed as
it is, and with a fault planted in it at random. Seconds are those of the processor, which other
load on the machine changes little; ``--record FILE`` keeps them.
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
from synth.layout.pins import show_size
from synth.medium import DEFAULT_RULES
from synth.reviewing import Severity, review
from synth.reviewing.change import cell_changes
from synth.simulator import check
from synth.spec import Spec

FUNCTIONS = ("q = a & ~b", "q = a ^ b ^ c", "q = a ^ b ^ c ^ d", "q = a ^ b ^ c ^ d ^ e")


def planted(layout: Layout, spec: Spec, rng: random.Random) -> Layout:
    """The layout with one cell changed so that it is wrong, but legal."""
    while True:
        cell = rng.choice(list(layout.cells))
        change = rng.choice(list(cell_changes(layout, cell, DEFAULT_RULES)))
        verdict = check(change.on(layout), spec)
        if verdict.legal and not verdict.passes:
            return change.on(layout)


def main() -> None:
    """Measure, print the table, record."""
    parser = argparse.ArgumentParser(description="How long a review takes.")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--record", type=Path)
    options = parser.parse_args()
    rng = random.Random(options.seed)
    rows: list[dict[str, Any]] = []
    print(
        f"{'function':<24}{'size':<14}{'parts':>6}  {'which':<8}{'seconds':>8}{'wall':>8}  findings"
    )
    for text in FUNCTIONS:
        spec = Spec.parse(text, stack="y")
        layout = compose(spec).layout
        assert layout is not None
        for which in ("right", "wrong"):
            given = layout if which == "right" else planted(layout, spec, rng)
            began, wall = time.process_time(), time.perf_counter()
            reviewed = review(given, spec)
            seconds, wall = time.process_time() - began, time.perf_counter() - wall
            row = {
                "function": text,
                "size": show_size(given.size),
                "parts": given.part_count,
                "which": which,
                "seconds": round(seconds, 2),
                "wall_s": round(wall, 2),
                "findings": {str(one): len(reviewed.of(one)) for one in Severity},
                "left_out": list(reviewed.left_out),
            }
            print(
                f"{text:<24}{row['size']:<14}{given.part_count:>6}  {which:<8}{seconds:>8.2f}"
                f"{wall:>8.2f}  {row['findings']}",
                flush=True,
            )
            rows.append(row)
    keep(options.record, solver="none", rows=rows)


if __name__ == "__main__":
    main()
