"""The formula against that of another checkout, or with accelerations left out: ratios of CPU time.

    python -m benchmarks.formulas                           # each acceleration of the formula left
                                                            # out alone, against all of them
    python -m benchmarks.formulas --against FOLDER          # all of them against another checkout

Every measurement is a process of its own, in pairs that take turns, so that drift hits both alike;
what is compared is CPU time of writing the formula and solving it. ``--record FILE`` keeps the rows
with what they were measured on, and how busy the machine was; rows that are there already are kept,
so that a long measurement can be made in pieces.
"""

from __future__ import annotations

import argparse
import json
import os
import random
import statistics
import subprocess
import sys
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any

FORMULA = (
    "links",
    "first-tick",
    "last-tick",
    "backwards",
    "monotone",
    "known",
    "compared",
    "order",
    "symmetry",
)
"""Accelerations that shape the formula of a question with the same rows."""

BOXES: dict[str, tuple[str, str, tuple[int, int, int], int, str]] = {
    "majority 4x2x4 T2": ("q = a & b | a & c | b & c", "buffer", (4, 2, 4), 2, "no"),
    "00000110 4x2x4 T2": ("q = a & (b ^ c)", "buffer", (4, 2, 4), 2, "no"),
    "00011110 4x2x4 T2": ("q = a ^ (b & c)", "buffer", (4, 2, 4), 2, "no"),
    "half adder 4x2x4 T2": ("s = a ^ b; c = a & b", "buffer", (4, 2, 4), 2, "no"),
    "00000110 3x2x4 T3": ("q = a & (b ^ c)", "buffer", (3, 2, 4), 3, "no"),
    "majority 3x2x4 T4": ("q = a & b | a & c | b & c", "buffer", (3, 2, 4), 4, "no"),
    "parity 4x2x4 T2": ("q = a ^ b ^ c", "buffer", (4, 2, 4), 2, "no"),
    "exclusive-or, wire, 4x2x4 T2": ("q = a ^ b", "wire", (4, 2, 4), 2, "yes"),
    "majority 3x2x5 T3": ("q = a & b | a & c | b & c", "buffer", (3, 2, 5), 3, "yes"),
    "00000110 3x2x5 T3": ("q = a & (b ^ c)", "buffer", (3, 2, 5), 3, "yes"),
}
"""Function, joint, box, ticks, and whether there is a layout; all stackable along y."""


def measure(name: str, seed: int, without: list[str], solver: str) -> dict[str, Any]:
    """Ask one question in this process: CPU seconds of writing and solving, and the answer."""
    from pysat.solvers import Solver

    from synth.encoding import Question, encode
    from synth.spec import Spec

    text, joint, size, delay, _ = BOXES[name]
    question = Question(Spec.parse(text, joint=joint, stack="y"), size, delay, sensitive=True)
    began = time.process_time()
    encoding = encode(question.without(without))
    encoded = time.process_time()
    clauses = shuffled(encoding.clauses, encoding.variable_count, seed)
    began_to_solve = time.process_time()
    with Solver(name=solver, bootstrap_with=clauses) as asked:
        answer = asked.solve()
    return {
        "answer": "yes" if answer else "no",
        "encode_s": round(encoded - began, 3),
        "solve_s": round(time.process_time() - began_to_solve, 3),
        "variables": encoding.variable_count,
        "clauses": len(encoding.clauses),
    }


def shuffled(clauses: list[list[int]], variables: int, seed: int) -> list[list[int]]:
    """The clauses under a seed, as workers shuffle them; here, so that any checkout can."""
    if seed == 0:
        return clauses
    chance = random.Random(seed)
    names = [*range(1, variables + 1)]
    chance.shuffle(names)
    renamed = [
        [names[abs(literal) - 1] * (1 if literal > 0 else -1) for literal in clause]
        for clause in clauses
    ]
    chance.shuffle(renamed)
    return renamed


def in_process(
    root: Path, name: str, seed: int, without: list[str], solver: str, limit_s: float
) -> dict[str, Any] | None:
    """The same in a process of its own, with the ``synth`` of a checkout; None: not in time."""
    words = ["--one", name, "--seeds", str(seed), "--solver", solver, "--without", *without]
    try:
        done = subprocess.run(
            [sys.executable, str(Path(__file__).resolve()), *words],
            env={**os.environ, "PYTHONPATH": str(root)},
            capture_output=True,
            text=True,
            check=True,
            timeout=limit_s,
        )
    except subprocess.TimeoutExpired:
        return None
    row: dict[str, Any] = json.loads(done.stdout)
    return row


def pairs(
    options: argparse.Namespace, ways: dict[str, tuple[Path, list[str]]], here: Path
) -> Iterator[dict[str, Any]]:
    """Each way and all accelerations, in turns."""
    for name in options.boxes or BOXES:
        for seed in options.seeds:
            for way, (root, without) in ways.items():
                times = []
                for checkout, left_out in ((here, []), (root, without)):
                    times.append(
                        in_process(
                            checkout, name, seed, left_out, options.solver, options.time_limit
                        )
                    )
                full, other = times
                ratio = None
                if full is not None and other is not None:
                    seconds = [row["encode_s"] + row["solve_s"] for row in (other, full)]
                    ratio = round(seconds[0] / seconds[1], 2)
                load = round(os.getloadavg()[0], 1)
                row = {"box": name, "seed": seed, "against": way, "times_faster": ratio}
                yield row | {"full": full, "other": other, "load": load}
                print(f"{name:<30} seed {seed}  {way:<14} {ratio}  load {load}", flush=True)


def main() -> None:
    """Measure, print, and record."""
    parser = argparse.ArgumentParser(description="Measure the formula in pairs.")
    parser.add_argument("--one", choices=BOXES, help=argparse.SUPPRESS)
    parser.add_argument("--boxes", nargs="*", choices=BOXES)
    parser.add_argument("--seeds", nargs="*", type=int, default=[0, 1, 2])
    parser.add_argument("--without", nargs="*", default=[])
    parser.add_argument("--against", type=Path, help="another checkout")
    parser.add_argument("--solver", default="glucose42")
    parser.add_argument("--time-limit", type=float, default=180.0, help="seconds a measurement")
    parser.add_argument("--record", type=Path)
    options = parser.parse_args()
    if options.one:
        row = measure(options.one, options.seeds[0], options.without, options.solver)
        print(json.dumps(row))
        return
    from benchmarks.record import ROOT, git, keep

    against = None
    ways = {name: (ROOT, [name]) for name in options.without or FORMULA}
    if options.against:
        ways = {"as it was": (options.against.resolve(), options.without)}
        against = git("rev-parse", "--verify", "HEAD", root=options.against)
    rows = []
    if options.record and options.record.is_file():
        rows = json.loads(options.record.read_text(encoding="utf-8"))["rows"]
    for row in pairs(options, ways, ROOT):
        rows.append(row)
        found = summary(rows)
        keep(options.record, solver=options.solver, against=against, summary=found, rows=rows)
    print(json.dumps(summary(rows), indent=1))


def summary(rows: list[dict[str, Any]]) -> dict[str, Any]:
    """Median and range of each way and box, and the geometric mean of each way."""
    found: dict[str, Any] = {}
    for way in dict.fromkeys(row["against"] for row in rows):
        boxes: dict[str, list[float]] = {}
        for row in rows:
            if row["against"] == way and row["times_faster"] is not None:
                boxes.setdefault(row["box"], []).append(row["times_faster"])
        every = [ratio for ratios in boxes.values() for ratio in ratios]
        found[way] = {
            "geometric mean": round(statistics.geometric_mean(every), 2) if every else None,
            "median (range)": {
                box: f"{statistics.median(ratios):.2f} ({min(ratios)} to {max(ratios)})"
                for box, ratios in boxes.items()
            },
        }
    return found


if __name__ == "__main__":
    main()
