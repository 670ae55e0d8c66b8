"""Multiplexer, majority, half adder, exclusive-nor, 2-wide stackable: smallest, or bound and best.

    python -m benchmarks.three_inputs [--time-limit SECONDS] [--gates NAMES] [--record FILE]

Seconds are those of the clock and those of processors: on a machine that does other work as well,
the first tell little.
"""

from __future__ import annotations

import argparse
import time
from pathlib import Path

from benchmarks.record import keep
from benchmarks.singly import processor_seconds
from synth.layout.pins import show_size
from synth.search import solve
from synth.search.workers.solvers import DEFAULT_SOLVER
from synth.spec import Spec

GATES = [
    ("multiplexer", "q = s ? b : a", 2),
    ("majority", "q = a & b | a & c | b & c", 2),
    ("majority", "q = a & b | a & c | b & c", 3),
    ("half adder", "s = a ^ b; co = a & b", 2),
    ("exclusive-nor", "q = a ~^ b", 2),
]
"""Name, function, ticks."""


def main() -> None:
    """Measure and print."""
    parser = argparse.ArgumentParser(description="Measure functions of three inputs.")
    parser.add_argument("--time-limit", type=float, default=600.0, help="seconds a question")
    parser.add_argument("--joints", default="buffer,wire")
    parser.add_argument("--gates", default=",".join(dict.fromkeys(name for name, *_ in GATES)))
    parser.add_argument("--workers", type=int, default=2)
    parser.add_argument("--record", type=Path)
    options = parser.parse_args()
    rows = []
    for joint in options.joints.split(","):
        for name, text, delay in GATES:
            if name not in options.gates.split(","):
                continue
            spec = Spec.parse(
                text, joint=joint, length=6, width=2, height=6, delay=delay, stack="y"
            )
            began, began_processor = time.perf_counter(), processor_seconds()
            outcome = solve(
                spec, workers=options.workers, time_limit_s=options.time_limit, fewest_parts=False
            )
            layout = outcome.layout
            row = {
                "gate": name,
                "joint": joint,
                "delay_asked": delay,
                "status": str(outcome.status),
                "size": None if layout is None else list(layout.size),
                "volume": None if layout is None else layout.volume,
                "said": outcome.claim or outcome.reason,
                "seconds": round(time.perf_counter() - began, 1),
                "processor_seconds": round(processor_seconds() - began_processor, 1),
            }
            rows.append(row)
            size = show_size(layout.size) if layout else "-"
            print(
                f"{name:<13} {joint:<7} {delay} {row['status']:<10} {size} {row['seconds']} s, "
                f"{row['processor_seconds']} s of processors"
            )
            print(f"   {row['said']}", flush=True)
            # What is there so far, should the next one be given up.
            keep(options.record, solver=DEFAULT_SOLVER, rows=rows)


if __name__ == "__main__":
    main()
