"""The frontier of floor and delay of exclusive-or, 2-wide stackable, complete and proven.

python -m benchmarks.frontier [--time-limit SECONDS] [--joints wire,buffer] [--record FILE]
"""

from __future__ import annotations

import argparse
import time
from dataclasses import asdict
from pathlib import Path

from benchmarks.record import keep
from synth.layout.pins import show_size
from synth.medium import Joint
from synth.search.frontier.frontier import StepSearch, frontier
from synth.search.workers.settings import Settings
from synth.spec import Limits, Spec
from synth.spec.demands import with_limits
from synth.spec.targets import load_target

LIMITS = Limits(length=5, width=2, height=5, delay=4)


def main() -> None:
    """Measure and print."""
    parser = argparse.ArgumentParser(description="Measure the frontier of exclusive-or.")
    parser.add_argument("--time-limit", type=float, help="seconds a frontier; none if unsaid")
    parser.add_argument("--joints", default="wire,buffer")
    parser.add_argument("--workers", type=int, default=1)
    parser.add_argument("--record", type=Path)
    options = parser.parse_args()
    frontiers = []
    for joint in options.joints.split(","):
        spec = asked(Joint(joint))
        done = frontier(
            spec,
            settings=Settings(workers=options.workers),
            time_limit_s=options.time_limit,
            watcher=Clock(),
        )
        print(f"joint {joint}: {done.status}, complete {done.complete}, {done.stats}")
        rows = []
        for step in done.steps:
            known = step.known
            row = {
                "delay_from": step.first,
                "delay_to": step.last,
                "standing": str(step.standing),
                "floor": step.value,
                "bound": step.bound,
                "size": None if known is None else list(known.layout.size),
                "delay": None if known is None else known.verdict.delay,
                "parts": None if known is None else known.layout.part_count,
                "said": step.claim,
            }
            rows.append(row)
            size = "-" if known is None else show_size(known.layout.size)
            print(f"  {step.first} to {step.last}: {step.standing} {step.value} {size}", flush=True)
        frontiers.append(
            {"joint": joint, "complete": done.complete, "steps": rows, "stats": done.stats}
        )
    limits = {name: value for name, value in asdict(LIMITS).items() if value}
    keep(options.record, solver=Settings().solver, limits=limits, frontiers=frontiers)


def asked(joint: Joint) -> Spec:
    """The target under the limits, with a joint."""
    spec = with_limits(load_target("xor2-stack"), joint=str(joint))
    return spec.replace(limits=LIMITS)


class Clock:
    """Prints each search with its time."""

    def __init__(self) -> None:
        self.began = time.perf_counter()

    def __call__(self, asking: StepSearch) -> None:
        if asking.outcome is None:
            self.began = time.perf_counter()
            return
        seconds = time.perf_counter() - self.began
        print(f"  delay at most {asking.at}: {asking.outcome.status}, {seconds:.1f} s", flush=True)


if __name__ == "__main__":
    main()
