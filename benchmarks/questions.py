"""Whole questions against another checkout: how many times sooner all is decided.

    python -m benchmarks.questions --against FOLDER [--names ...] [--seeds N ...] [--record FILE]

``benchmarks.formulas`` compares single boxes. Here ``solve`` finds the smallest layout of a
function and rules out all that is smaller, as a user runs it: under a time limit, from both sides
where the checkout can do that, with a worker for each processor. So what spares whole boxes counts
as well, and so does a layout that is found early. The ten questions were open in the demo library
as it was before the census; they were drawn at random from those that are decided by now, at 2, 3
and 4 ticks. What is compared is the time by the clock: measure on a machine that does nothing else.

Both checkouts take turns, each question in processes of its own. With ``--record`` every pair is
kept as it is made, and one that the file holds is not made again.
"""

from __future__ import annotations

import argparse
import json
import os
import statistics
import subprocess
import sys
import time
from pathlib import Path
from typing import Any

LIMITS = {"y": {"length": 5, "width": 2, "height": 5}, "": {"length": 4, "width": 3, "height": 5}}
"""Limits of the demo library's questions of three inputs, by stacking axis."""

FREE_OF_TWO = {"length": 4, "width": 3, "height": 4}
"""The same for two inputs, not stacked."""

QUESTIONS: dict[str, tuple[str, str, str, int]] = {
    f"{table} {'stacked' if stack else 'free'} {joint} T{delay}": (table, stack, joint, delay)
    for table, stack, joint, delay in (
        ("10001011", "", "buffer", 2),
        ("10001001", "y", "buffer", 2),
        ("1001", "", "buffer", 2),
        ("11101000", "y", "buffer", 3),
        ("00010111", "y", "buffer", 3),
        ("10001001", "y", "buffer", 3),
        ("00011011", "", "buffer", 3),
        ("0110", "", "buffer", 4),
        ("1001", "y", "wire", 4),
        ("10101100", "y", "buffer", 4),
    )
}
"""Truth table, stacking axis, joint, ticks."""


def measure(name: str, seed: int, limit_s: float) -> dict[str, Any]:
    """Decide one question: the answer, and the seconds by the clock and by the processors."""
    from synth.search import solve
    from synth.spec import BooleanFunction, Spec
    from synth.spec.demands import with_limits

    table, stack, joint, delay = QUESTIONS[name]
    inputs = ("a", "b", "c")[: len(table).bit_length() - 1]
    limits = FREE_OF_TWO if len(inputs) == 2 and not stack else LIMITS[stack]
    spec = with_limits(
        Spec(BooleanFunction(inputs, {"q": table})),
        joint=joint,
        stack=stack or None,
        delay=delay,
        **limits,
    )
    began, used = time.monotonic(), sum(os.times()[:4])
    outcome = solve(spec, seed=seed, time_limit_s=limit_s, fewest_parts=False)
    seconds = time.monotonic() - began
    layout = outcome.layout
    return {
        "status": str(outcome.status),
        "volume": None if layout is None else layout.volume,
        "seconds": round(seconds, 1),
        "processor_seconds": round(sum(os.times()[:4]) - used, 1),
    }


def in_process(root: Path, name: str, seed: int, limit_s: float) -> dict[str, Any]:
    """The same with the ``synth`` of a checkout.

    Raises:
        RuntimeError: if it fails there.
    """
    own = ["--one", name, "--seeds", str(seed), "--time-limit", str(limit_s)]
    done = subprocess.run(
        [sys.executable, str(Path(__file__).resolve()), *own],
        cwd=root,  # its own workers import from there as well
        env={**os.environ, "PYTHONPATH": str(root)},
        stdout=subprocess.PIPE,
        text=True,
        check=False,
    )
    if done.returncode != 0:
        raise RuntimeError(f"{name}: the process ended with code {done.returncode}")
    row: dict[str, Any] = json.loads(done.stdout)
    return row


def pair(name: str, seed: int, here: Path, other: Path, limit_s: float) -> dict[str, Any]:
    """One question with both checkouts.

    Raises:
        RuntimeError: if they answer differently: one of them is wrong.
    """
    now, before = (in_process(root, name, seed, limit_s) for root in (here, other))
    ratio = None
    if "undecided" not in (now["status"], before["status"]):
        if (now["status"], now["volume"]) != (before["status"], before["volume"]):
            raise RuntimeError(f"{name}: {now} here, {before} with the other checkout")
        # Seconds are kept to a tenth: less than that cannot be compared.
        ratio = round(max(before["seconds"], 0.1) / max(now["seconds"], 0.1), 2)
    load = round(os.getloadavg()[0], 1)
    row = {"question": name, "seed": seed, "times_faster": ratio, "load": load}
    return row | {"now": now, "before": before}


def summary(rows: list[dict[str, Any]]) -> dict[str, Any]:
    """Median of each question, geometric means of all and of each delay, and what was not done."""
    ratios: dict[str, list[float]] = {}
    for row in rows:
        if row["times_faster"] is not None:
            ratios.setdefault(row["question"], []).append(row["times_faster"])

    def mean(ending: str) -> float | None:
        every = [one for name, found in ratios.items() if name.endswith(ending) for one in found]
        return round(statistics.geometric_mean(every), 2) if every else None

    return {
        "geometric mean": mean(""),
        "by ticks": {ticks: mean(f"T{ticks}") for ticks in (2, 3, 4)},
        "median": {name: round(statistics.median(found), 2) for name, found in ratios.items()},
        "not in time": [row["question"] for row in rows if row["times_faster"] is None],
    }


def main() -> None:
    """Measure, keep and print."""
    parser = argparse.ArgumentParser(description="Measure whole questions in pairs.")
    parser.add_argument("--one", choices=QUESTIONS, help=argparse.SUPPRESS)
    parser.add_argument("--names", nargs="*", choices=QUESTIONS)
    parser.add_argument("--seeds", nargs="*", type=int, default=[0, 1, 2])
    parser.add_argument("--against", type=Path, help="another checkout")
    parser.add_argument("--time-limit", type=float, default=600.0, help="seconds a question")
    parser.add_argument("--record", type=Path)
    options = parser.parse_args()
    if options.one:
        print(json.dumps(measure(options.one, options.seeds[0], options.time_limit)))
        return
    if options.against is None:
        parser.error("--against is missing: name the folder of another checkout")
    from benchmarks.record import ROOT, git, keep

    other = options.against.resolve()
    against = git("rev-parse", "--verify", "HEAD", root=other)
    rows: list[dict[str, Any]] = []
    if options.record is not None and options.record.exists():
        kept = json.loads(options.record.read_text(encoding="utf-8"))
        if kept["against"] != against:
            parser.error(f"--record holds pairs with {kept['against']}; name another file")
        rows = kept["rows"]
    done = {(row["question"], row["seed"]) for row in rows}
    for seed in options.seeds:
        for name in options.names or QUESTIONS:
            if (name, seed) in done:
                continue
            rows.append(pair(name, seed, ROOT, other, options.time_limit))
            print(rows[-1], flush=True)
            found = summary(rows)
            keep(options.record, solver="glucose42", against=against, summary=found, rows=rows)
    print(json.dumps(summary(rows), indent=1))


if __name__ == "__main__":
    main()
