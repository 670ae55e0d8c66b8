"""Twenty kills: a build killed at random moments and taken up again, against one left alone.

python -m benchmarks.library_kill [--kills N] [--seed N] [--record FILE]

Compared is everything a store says of a question but times. Counted are answers given twice: a job
may end in the moment of the kill, told but not yet written; nothing else may be answered again.
"""

from __future__ import annotations

import argparse
import json
import os
import random
import sqlite3
import subprocess
import sys
import tempfile
import threading
import time
from collections import Counter
from pathlib import Path
from typing import Any

import synth
from benchmarks.record import keep
from synth.search.workers.solvers import DEFAULT_SOLVER

RECIPE = """
minimize = ["volume"]
[functions]
all_of = [1, 2]
[time]
first = 100
most = 100
[[asks]]
stack = "y"
joints = ["wire", "buffer"]
delays = [1, 2]
length = 3
width = 2
height = 4
"""


BUILD = (sys.executable, "-m", "synth.cli.main", "library", "build")


def contents(store: Path) -> list[tuple[Any, ...]]:
    """All that a store says but times."""
    with sqlite3.connect(store) as connection:
        return connection.execute(
            "SELECT key, status, proven, volume, parts, delay, bound, claim, proof, solver, seed,"
            " layout FROM results LEFT JOIN layouts USING (number) ORDER BY key"
        ).fetchall()


def build(folder: Path, store: str, kill_after_s: float | None) -> tuple[int, list[str]]:
    """Build in a process of its own; its exit code and the keys of the answers it told."""
    root = str(Path(synth.__file__).parents[1])
    process = subprocess.Popen(
        [*BUILD, "gates.toml", "--store", store, "--json"],
        stdout=subprocess.PIPE,
        stderr=subprocess.DEVNULL,
        cwd=folder,
        env={**os.environ, "PYTHONPATH": root},
        text=True,
    )
    timer = None
    if kill_after_s is not None:
        timer = threading.Timer(kill_after_s, process.kill)
        timer.start()
    out, _ = process.communicate()
    if timer is not None:
        timer.cancel()
    events = [json.loads(line) for line in out.splitlines(keepends=True) if line.endswith("\n")]
    return process.returncode, [event["key"] for event in events if event["event"] == "answer"]


def main() -> None:
    """Kill, compare, print."""
    parser = argparse.ArgumentParser(description="Kill a build twenty times.")
    parser.add_argument("--kills", type=int, default=20)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--record", type=Path)
    options = parser.parse_args()
    chance = random.Random(options.seed)
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        (folder / "gates.toml").write_text(RECIPE, encoding="utf-8")
        began = time.perf_counter()
        build(folder, "alone.sqlite", None)
        alone_s = time.perf_counter() - began
        told: Counter[str] = Counter()
        kills = 0
        while True:
            after = chance.uniform(0.2, 2.5) if kills < options.kills else None
            code, keys = build(folder, "killed.sqlite", after)
            told.update(keys)
            if code == 0:
                break
            kills += 1
        same = contents(folder / "alone.sqlite") == contents(folder / "killed.sqlite")
        questions = len(contents(folder / "alone.sqlite"))
    twice = sum(count - 1 for count in told.values())
    print(f"{kills} kills, {questions} questions, alone in {alone_s:.1f} s")
    print(f"the same store: {same}; answers told twice: {twice}")
    keep(
        options.record,
        solver=DEFAULT_SOLVER,
        kills=kills,
        questions=questions,
        same_store=same,
        answers_told_twice=twice,
    )


if __name__ == "__main__":
    main()
