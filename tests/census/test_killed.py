"""A census in a process of its own, killed and taken up again."""

from __future__ import annotations

import json
import os
import signal
import subprocess
import sys
from pathlib import Path
from typing import Any

import synth

GUARD_S = 240.0
"""Seconds after which a process that hangs fails the test; it takes a few."""

CENSUS = "census --length 1 --width 2 --height 4 --delay 1 --stack y --joint buffer --workers 2"


def started(folder: Path, name: str) -> subprocess.Popen[str]:
    """A census whose journal, certificate and document are called by a name."""
    kept = ["--resume", f"{name}.jsonl", "--certificate", name, "-o", f"{name}.json"]
    return subprocess.Popen(
        [sys.executable, "-m", "synth.cli.main", *CENSUS.split(), *kept],
        stdout=subprocess.DEVNULL,
        stderr=subprocess.PIPE,
        cwd=folder,
        env={**os.environ, "PYTHONPATH": str(Path(synth.__file__).parents[1])},
        text=True,
    )


def contents(folder: Path, name: str) -> dict[str, Any]:
    """What a census says but seconds, layouts, and the ticks that these take."""
    census: dict[str, Any] = json.loads((folder / f"{name}.json").read_text(encoding="utf-8"))
    del census["seconds"]
    for entry in census["classes"]:
        del entry["seconds"], entry["layout"], entry["delay"]
    census["classes"].sort(key=lambda entry: entry["table"])
    return census


def test_killed_and_taken_up_again_it_ends_with_the_same_atlas(tmp_path: Path) -> None:
    """``benchmarks/census_kill.py`` does the same twenty times, on larger boxes."""
    alone = started(tmp_path, "alone")
    alone.communicate(timeout=GUARD_S)
    assert alone.returncode == 0
    functions: list[str] = []
    kills = 0
    for kill_at in ("function", ": complete", None):
        process = started(tmp_path, "killed")
        assert process.stderr is not None
        told: list[str] = []
        for line in process.stderr:
            told.append(line)
            if kill_at is not None and kill_at in line:
                process.kill()
                break
        # By the same stream: what it has read ahead would be missing otherwise.
        told += process.stderr.readlines()
        process.communicate(timeout=GUARD_S)
        functions += [line.split(":")[1] for line in told if line.startswith("function")]
        kills += process.returncode == -signal.SIGKILL
    assert kills
    assert process.returncode == 0
    assert contents(tmp_path, "killed") == contents(tmp_path, "alone")
    assert synth.audit(tmp_path / "killed", symmetry=False, workers=1).passes
    # What was told is on the disk: no function is found twice in the same box.
    assert len(functions) == len(set(functions))
