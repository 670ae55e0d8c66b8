"""Builds the circuits of ``benchmarks/circuits`` and notes size, delay and time.

python -m benchmarks.build_circuits [--time-limit SECONDS] [--seeds N ...] [--only NAME ...]
    [--record FILE]

Each is placed for so many seconds, then judged and proven equal. What is written is the volume as
first routed and in the end, the delay, and how many of the seconds judging and proving took.
"""

from __future__ import annotations

import argparse
import os
import time
from pathlib import Path
from typing import Any

from benchmarks.record import keep
from synth.building import build
from synth.circuits.reading.read import read_circuit
from synth.search.workers.solvers import PROVING_SOLVER

FOLDER = Path(__file__).parent / "circuits"
CIRCUITS = {path.stem: path for path in sorted(FOLDER.iterdir())}


def main() -> None:
    """Measure and print."""
    parser = argparse.ArgumentParser(description="Build circuits.")
    parser.add_argument("--time-limit", type=float, default=60.0, help="seconds a circuit")
    parser.add_argument("--seeds", type=int, nargs="*", default=[0])
    parser.add_argument("--only", nargs="*", choices=tuple(CIRCUITS), default=tuple(CIRCUITS))
    parser.add_argument("--record", type=Path)
    options = parser.parse_args()
    rows: list[dict[str, Any]] = []
    for name in options.only:
        for seed in options.seeds:
            rows.append(measured(name, seed, options.time_limit))
            print(rows[-1], flush=True)
    keep(
        options.record,
        solver=PROVING_SOLVER,
        time_limit_s=options.time_limit,
        load=[round(load, 1) for load in os.getloadavg()],
        circuits=rows,
    )


def measured(name: str, seed: int, time_limit_s: float) -> dict[str, Any]:
    """One circuit, built."""
    circuit = read_circuit(CIRCUITS[name])
    began = time.perf_counter()
    built = build(circuit, time_limit_s=time_limit_s, seed=seed)
    seconds = time.perf_counter() - began
    assert built.layout is not None
    return {
        "circuit": name,
        "seed": seed,
        "status": str(built.status),
        "inputs": len(circuit.inputs),
        "gates": built.gates,
        "size": list(built.layout.size),
        "routed": built.routed,
        "volume": built.layout.volume,
        "less": round(1 - built.layout.volume / built.routed, 3),
        "delay": built.delay,
        "placements": built.tried,
        "seconds": round(seconds, 1),
        "besides_placing_s": round(seconds - time_limit_s, 1),
    }


if __name__ == "__main__":
    main()
