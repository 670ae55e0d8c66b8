"""Slices of chains: the smallest, proven or with a bound, under a time limit each.

Run from the top of the project: ``python -m benchmarks.slices``. Boxes up to 6 x 2 x 5 cells,
buffer joints, chained along x; a slice whose limit on delay no construction keeps has no start from
above. ``--record FILE`` keeps what was found.
"""

from __future__ import annotations

import argparse
from dataclasses import replace
from pathlib import Path
from typing import Any

from benchmarks.record import keep
from synth.layout.pins import show_size
from synth.medium import Joint
from synth.search import solve
from synth.search.workers.settings import Settings
from synth.spec import Spec
from synth.spec.targets import load_target

SLICES = (("priority", 3), ("shifter", 3), ("greater-than", 3), ("equality", 3))
"""Targets, and the delay asked of each, in ticks: the least that they can have."""


def asked(name: str, delay: int) -> Spec:
    """A target with limits and joints."""
    spec = load_target(f"{name}-slice")
    pins = {
        pin: ask if spec.linked(pin) else replace(ask, joint=Joint.BUFFER)
        for pin, ask in spec.pins.items()
    }
    limits = replace(spec.limits, length=6, height=5, delay=delay)
    return spec.replace(pins=pins, limits=limits)


def main() -> None:
    """Search, print the table, record."""
    parser = argparse.ArgumentParser(description="The smallest slices of chains.")
    parser.add_argument("--time-limit", type=float, default=150.0)
    parser.add_argument("--only", nargs="*", default=[name for name, _ in SLICES])
    parser.add_argument("--record", type=Path)
    options = parser.parse_args()
    rows: list[dict[str, Any]] = []
    print(f"{'slice':<14}{'delay':>6}{'status':>12}{'size':>12}{'volume':>8}{'bound':>7}{'s':>8}")
    for name, delay in SLICES:
        if name not in options.only:
            continue
        found = solve(asked(name, delay), time_limit_s=options.time_limit)
        layout, verdict = found.layout, found.verdict
        row = {
            "slice": name,
            "delay": delay,
            "status": str(found.status),
            "size": None if layout is None else show_size(layout.size),
            "volume": None if layout is None else layout.volume,
            "link_delay": None if verdict is None else verdict.link_delay,
            "bound": found.bound,
            "seconds": round(float(found.stats["seconds"]), 1),
        }
        print(
            f"{name:<14}{delay:>6}{row['status']:>12}{row['size'] or '-':>12}"
            f"{row['volume'] or '-':>8}{row['bound'] or '-':>7}{row['seconds']:>8}",
            flush=True,
        )
        rows.append(row)
    keep(options.record, solver=Settings().solver, rows=rows)


if __name__ == "__main__":
    main()
