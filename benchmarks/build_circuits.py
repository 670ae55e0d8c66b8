"""Builds the circuits of ``benchmarks/circuits`` and notes size, delay and time.

python -m benchmarks.build_circuits [--time-limit SECONDS] [--seeds N ...] [--only NAME ...]
    [--workers N] [--pins ends] [--record FILE]

Each is placed and shrunk for so many seconds, then judged and proven equal. What is written is the
volume as first routed and in the end, how the layout came about (the volume and the delay that its
construction or its placement had), the delay, how many of the seconds judging and proving took, and
the load of the machine before and after. With ``--pins ends`` no circuit is a row of slices. With
``--record`` what the file says of other circuits, seeds and pins stays.
"""

from __future__ import annotations

import argparse
import json
import os
import time
from dataclasses import asdict
from pathlib import Path
from typing import Any

from benchmarks.record import keep
from synth.building import build
from synth.building.pipeline import PINS
from synth.circuits.reading.read import read_circuit
from synth.machine import default_workers
from synth.search.workers.solvers import PROVING_SOLVER

FOLDER = Path(__file__).parent / "circuits"
CIRCUITS = {path.stem: path for path in sorted(FOLDER.iterdir())}


def main() -> None:
    """Measure and print."""
    parser = argparse.ArgumentParser(description="Build circuits.")
    parser.add_argument("--time-limit", type=float, default=60.0, help="seconds a circuit")
    parser.add_argument("--seeds", type=int, nargs="*", default=[0])
    parser.add_argument("--only", nargs="*", choices=tuple(CIRCUITS), default=tuple(CIRCUITS))
    parser.add_argument("--workers", type=int, default=default_workers(), help="processes at once")
    parser.add_argument("--pins", choices=PINS, default="free")
    parser.add_argument("--record", type=Path)
    options = parser.parse_args()
    rows: dict[tuple[str, int, str], dict[str, Any]] = {}
    if options.record is not None and options.record.exists():
        kept = json.loads(options.record.read_text(encoding="utf-8"))["circuits"]
        rows = {(row["circuit"], row["seed"], row["pins"]): row for row in kept}
    for name in options.only:
        for seed in options.seeds:
            row = measured(name, seed, options.time_limit, options.workers, options.pins)
            rows[name, seed, options.pins] = row
            print(row, flush=True)
    keep(options.record, solver=PROVING_SOLVER, circuits=[rows[place] for place in sorted(rows)])


def measured(name: str, seed: int, time_limit_s: float, workers: int, pins: str) -> dict[str, Any]:
    """One circuit, built."""
    circuit = read_circuit(CIRCUITS[name])
    began = time.perf_counter()
    before = os.getloadavg()[0]
    built = build(circuit, time_limit_s=time_limit_s, seed=seed, workers=workers, pins=pins)
    seconds = time.perf_counter() - began
    assert built.layout is not None
    assert built.origin is not None
    return {
        "circuit": name,
        "seed": seed,
        "time_limit_s": time_limit_s,
        "workers": workers,
        "pins": pins,
        "load": [round(before, 1), round(os.getloadavg()[0], 1)],
        "status": str(built.status),
        "inputs": len(circuit.inputs),
        "gates": built.gates,
        "size": list(built.layout.size),
        "routed": built.routed,
        "origin": asdict(built.origin),
        "volume": built.layout.volume,
        "less": round(1 - built.layout.volume / built.routed, 3),
        "delay": built.delay,
        "placements": built.tried,
        "seconds": round(seconds, 1),
        "besides_improving_s": round(seconds - time_limit_s, 1),
    }


if __name__ == "__main__":
    main()
