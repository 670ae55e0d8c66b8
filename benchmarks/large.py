"""Full adder and three-input parity, 2-wide stackable, within 4 ticks: layouts by structure first.

python -m benchmarks.large [--time-limit SECONDS] [--only NAME] [--record FILE] [--layouts DIR]

Nothing is claimed of smallness; what is written is the best layout, as the simulator judges it, and
the bound that the walk proved meanwhile.
"""

from __future__ import annotations

import argparse
import time
from pathlib import Path

from benchmarks.record import keep
from synth.layout.pins import show_size
from synth.questions.events import BestImproved, Event
from synth.search import solve
from synth.search.workers.solvers import DEFAULT_SOLVER, PLACING_SOLVER
from synth.simulator import check
from synth.spec import Spec

FUNCTIONS = {
    "parity": ("q = a ^ b ^ c", 10, 6),
    "full adder": ("s = a ^ b ^ c; co = a & b | a & c | b & c", 14, 6),
}
"""The function, and the longest and highest box tried."""

DELAY = 4


class Clock:
    """Notes when the first layout came."""

    def __init__(self) -> None:
        self.began = time.perf_counter()
        self.first_s: float | None = None

    def event(self, event: Event) -> None:
        """Take note of the first layout."""
        if isinstance(event, BestImproved) and self.first_s is None:
            self.first_s = round(time.perf_counter() - self.began, 1)


def main() -> None:
    """Measure and print."""
    parser = argparse.ArgumentParser(description="Find layouts of large functions.")
    parser.add_argument("--time-limit", type=float, default=1800.0, help="seconds a function")
    parser.add_argument("--only", choices=tuple(FUNCTIONS))
    parser.add_argument("--joint", default="buffer")
    parser.add_argument("--workers", type=int, default=2)
    parser.add_argument("--record", type=Path)
    parser.add_argument("--layouts", type=Path, help="a folder for the layouts")
    options = parser.parse_args()
    rows = []
    for name, (text, length, height) in FUNCTIONS.items():
        if options.only not in (None, name):
            continue
        spec = Spec.parse(
            text,
            joint=options.joint,
            length=length,
            width=2,
            height=height,
            delay=DELAY,
            stack="y",
        )
        clock = Clock()
        outcome = solve(
            spec,
            workers=options.workers,
            time_limit_s=options.time_limit,
            reporter=clock,
            fewest_parts=False,
        )
        layout = outcome.layout
        row = {
            "function": name,
            "joint": options.joint,
            "delay_asked": DELAY,
            "status": str(outcome.status),
            "size": None if layout is None else list(layout.size),
            "volume": None if layout is None else layout.volume,
            "parts": None if layout is None else layout.part_count,
            "passes": None if layout is None else check(layout, spec, delay=DELAY).passes,
            "bound": outcome.stats.bound,
            "first_layout_seconds": clock.first_s,
            "seconds": round(time.perf_counter() - clock.began, 1),
        }
        rows.append(row)
        size = show_size(layout.size) if layout else "no layout"
        print(f"{name}: {size}, first after {clock.first_s} s; none below {row['bound']}")
        if layout is not None and options.layouts:
            options.layouts.mkdir(parents=True, exist_ok=True)
            layout.save(options.layouts / f"{name.replace(' ', '_')}_layout.json")
    keep(options.record, solver=DEFAULT_SOLVER, placing_solver=PLACING_SOLVER, rows=rows)


if __name__ == "__main__":
    main()
