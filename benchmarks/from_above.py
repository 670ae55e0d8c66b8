"""How soon there is a layout, and how it shrinks: solve from both sides under a time limit.

python -m benchmarks.from_above [--time-limit SECONDS] [--only NAME] [--seed N] [--record FILE]

All 2 wide, stackable along y, buffer joints, boxes up to 40 x 2 x 24. What is written is when the
first layout came, every better one with its time, and the bound from below. Nothing is claimed of
smallness but what the outcome claims.
"""

from __future__ import annotations

import argparse
import time
from pathlib import Path

from benchmarks.record import keep
from synth.questions.events import BestImproved, Event
from synth.search import solve
from synth.search.workers.solvers import DEFAULT_SOLVER
from synth.simulator import check
from synth.spec import Spec

QUESTIONS: dict[str, tuple[str, int]] = {
    "majority": ("q = a & b | b & c | a & c", 4),
    "parity of three": ("q = a ^ b ^ c", 5),
    "two-to-four decoder": (
        "y0 = ~a & ~b; y1 = ~a & b; y2 = a & ~b; y3 = a & b",
        5,
    ),
    "two products of three": ("q = a & b & c | d & e & f", 4),
    "multiplexer": ("q = s ? a : b", 3),
    "full adder": ("s = a ^ b ^ c; co = a & b | a & c | b & c", 8),
}
"""The function, and the delay asked, in ticks."""

LENGTH, HEIGHT = 40, 24


class Gains:
    """Notes every better layout with its time."""

    def __init__(self) -> None:
        self.began = time.perf_counter()
        self.gains: list[tuple[float, int]] = []

    def event(self, event: Event) -> None:
        """Take note of a better layout."""
        if isinstance(event, BestImproved):
            length, width, height = event.size
            seconds = round(time.perf_counter() - self.began, 1)
            self.gains.append((seconds, length * width * height))


def main() -> None:
    """Measure and print."""
    parser = argparse.ArgumentParser(description="Solve from both sides.")
    parser.add_argument("--time-limit", type=float, default=60.0, help="seconds a question")
    parser.add_argument("--only", choices=tuple(QUESTIONS))
    parser.add_argument("--seed", type=int, default=0)
    parser.add_argument("--workers", type=int, default=2)
    parser.add_argument("--record", type=Path)
    options = parser.parse_args()
    rows = []
    for name, (text, delay) in QUESTIONS.items():
        if options.only not in (None, name):
            continue
        limits = {"length": LENGTH, "width": 2, "height": HEIGHT, "delay": delay}
        spec = Spec.parse(text, stack="y", joint="buffer", **limits)
        watch = Gains()
        outcome = solve(
            spec,
            workers=options.workers,
            time_limit_s=options.time_limit,
            seed=options.seed,
            reporter=watch,
            fewest_parts=False,
        )
        layout = outcome.layout
        passes = layout is not None and check(layout, spec, delay=delay).passes
        rows.append(
            {
                "function": name,
                "delay_asked": delay,
                "status": str(outcome.status),
                "passes": passes,
                "first_layout_seconds": watch.gains[0][0] if watch.gains else None,
                "volumes": watch.gains,
                "volume": None if layout is None else layout.volume,
                "bound": outcome.bound,
                "seconds": round(time.perf_counter() - watch.began, 1),
            }
        )
        first = watch.gains[0] if watch.gains else ("-", "-")
        best = None if layout is None else layout.volume
        print(f"{name}: first {first[1]} after {first[0]} s, then {best}; bound {outcome.bound}")
    keep(
        options.record,
        solver=DEFAULT_SOLVER,
        seed=options.seed,
        time_limit_seconds=options.time_limit,
        rows=rows,
    )


if __name__ == "__main__":
    main()
