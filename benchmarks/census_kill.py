"""Twenty kills: a census killed at random moments and taken up again, against one left alone.

python -m benchmarks.census_kill [--kills N] [--seed N] [--record FILE]

Each run is killed after it told some things, and a moment more, so that the kill may hit anything:
a model, a line of the journal, a proof that is being written. Compared is everything a census says
but seconds and which layout stands for a function; the certificate of the killed one is audited.
"""

from __future__ import annotations

import argparse
import json
import os
import random
import subprocess
import sys
import tempfile
import threading
from pathlib import Path
from typing import Any

import synth
from benchmarks.record import keep
from synth.proofs.audit import audit
from synth.search.workers.solvers import DEFAULT_SOLVER

LIMITS = "--length 2 --width 2 --height 4 --delay 2 --stack y --joint buffer"
CENSUS = (sys.executable, "-m", "synth.cli.main", "census", "--inputs", "3", *LIMITS.split())


def contents(document: Path) -> dict[str, Any]:
    """What a census says but seconds, layouts, and the ticks that these take."""
    census: dict[str, Any] = json.loads(document.read_text(encoding="utf-8"))
    del census["seconds"]
    for entry in census["classes"]:
        del entry["seconds"], entry["layout"], entry["delay"]
    census["classes"].sort(key=lambda entry: entry["table"])
    return census


def take(folder: Path, name: str, after_lines: int | None = None, moment_s: float = 0.0) -> int:
    """Take the census in a process of its own; its exit code.

    Args:
        folder: where journal, certificate and document go.
        name: what these are called.
        after_lines: kill it once it has told so many lines; None leaves it alone.
        moment_s: seconds between that line and the kill.
    """
    kept = ("--resume", f"{name}.jsonl", "--certificate", name, "-o", f"{name}.json")
    process = subprocess.Popen(
        [*CENSUS, *kept],
        stdout=subprocess.DEVNULL,
        stderr=subprocess.PIPE,
        cwd=folder,
        env={**os.environ, "PYTHONPATH": str(Path(synth.__file__).parents[1])},
        text=True,
    )
    assert process.stderr is not None
    timer = threading.Timer(moment_s, process.kill)
    for _ in range(after_lines or 0):
        process.stderr.readline()
    if after_lines is not None:
        timer.start()
    process.communicate()
    timer.cancel()
    return process.returncode


def main() -> None:
    """Kill, compare, print."""
    parser = argparse.ArgumentParser(description="Kill a census twenty times.")
    parser.add_argument("--kills", type=int, default=20)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--record", type=Path)
    options = parser.parse_args()
    chance = random.Random(options.seed)
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        take(folder, "alone")
        kills = 0
        while True:
            lines = chance.randrange(3) if kills < options.kills else None
            if take(folder, "killed", lines, chance.uniform(0, 0.3)) == 0:
                break
            kills += 1
            print(f"killed {kills} times", flush=True)
        alone, killed = (contents(folder / f"{name}.json") for name in ("alone", "killed"))
        report = audit(folder / "killed", workers=2)
    print(f"the same atlas: {alone == killed}; audited: {report.passes}")
    keep(
        options.record,
        solver=DEFAULT_SOLVER,
        kills=kills,
        classes=len(killed["classes"]),
        boxes=len(killed["boxes"]),
        same_atlas=alone == killed,
        audited=report.passes,
    )


if __name__ == "__main__":
    main()
