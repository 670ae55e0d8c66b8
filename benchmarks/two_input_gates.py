"""The smallest 2-wide stackable layout of every gate of two inputs, joint by joint, tick by tick.

    python -m benchmarks.two_input_gates [--delays 1,2,3,4] [--joints wire,buffer] [--record FILE]

Every box up to 5 x 2 x 5 is asked about, from the smallest volume up. Prints a row a question as
soon as it is answered and, with ``--record``, writes all rows with what they were measured on.
"""

from __future__ import annotations

import argparse
import time
from pathlib import Path
from typing import Any

from benchmarks.record import keep
from synth.layout.pins import show_size
from synth.search import Outcome, solve
from synth.search.workers.solvers import DEFAULT_SOLVER
from synth.spec import Spec

GATES = {
    "and": "q = a & b",
    "nand": "q = ~(a & b)",
    "or": "q = a | b",
    "nor": "q = ~(a | b)",
    "implies": "q = ~a | b",
    "implied-by": "q = a | ~b",
    "does-not-imply": "q = a & ~b",
    "not-implied-by": "q = ~a & b",
    "xor": "q = a ^ b",
    "xnor": "q = a ~^ b",
}
LIMITS: dict[str, Any] = {"length": 5, "width": 2, "height": 5, "stack": "y"}


def row(gate: str, joint: str, delay: int, outcome: Outcome, seconds: float) -> dict[str, Any]:
    """One line of the table."""
    layout = outcome.layout
    return {
        "gate": gate,
        "joint": joint,
        "delay_asked": delay,
        "status": str(outcome.status),
        "size": None if layout is None else list(layout.size),
        "volume": None if layout is None else layout.volume,
        "delay": None if outcome.verdict is None else outcome.verdict.delay,
        "parts": None if layout is None else layout.part_count,
        "questions": outcome.stats.questions,
        "seconds": round(seconds, 2),
        "solver": outcome.stats.solver,
        "seed": outcome.stats.seed,
    }


def show(line: dict[str, Any]) -> str:
    """A row as text."""
    size = show_size(line["size"]) if line["size"] else "-"
    return (
        f"{line['gate']:<15} {line['joint']:<6} {line['delay_asked']:>5} {line['status']:<10} "
        f"{size:<10} {line['volume'] or '-':>6} {line['seconds']:>8.2f}"
    )


def main() -> None:
    """Measure and print."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0] if __doc__ else None)
    parser.add_argument("--delays", default="1,2,3,4")
    parser.add_argument("--joints", default="wire,buffer")
    parser.add_argument("--gates", default=",".join(GATES))
    parser.add_argument("--time-limit", type=float, default=300.0, help="seconds a question")
    parser.add_argument("--workers", type=int, default=2)
    parser.add_argument("--record", type=Path)
    options = parser.parse_args()
    print(f"{'gate':<15} {'joint':<6} {'ticks':>5} {'status':<10} {'size':<10} volume  seconds")
    rows = []
    for joint in options.joints.split(","):
        for delay in map(int, options.delays.split(",")):
            for gate in options.gates.split(","):
                spec = Spec.parse(GATES[gate], joint=joint, delay=delay, **LIMITS)
                began = time.perf_counter()
                outcome = solve(
                    spec,
                    workers=options.workers,
                    time_limit_s=options.time_limit,
                    fewest_parts=False,
                )
                line = row(gate, joint, delay, outcome, time.perf_counter() - began)
                rows.append(line)
                print(show(line), flush=True)
    print(f"{sum(line['seconds'] for line in rows):.1f} seconds in all")
    keep(options.record, solver=DEFAULT_SOLVER, limits=LIMITS, workers=options.workers, rows=rows)


if __name__ == "__main__":
    main()
