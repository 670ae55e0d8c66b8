"""What stands beside every measured figure: commit, command, solver, machine, versions, date."""

from __future__ import annotations

import datetime
import json
import os
import platform
import shlex
import subprocess
import sys
from importlib.metadata import version
from pathlib import Path
from typing import Any

ROOT = Path(__file__).resolve().parent.parent

MEASURED = ("synth", "targets", "benchmarks/*.py")
"""Paths whose changes, not yet committed, make a record one of no commit."""

PLACES = ("--record", "--output", "--plot", "--layouts", "--from", "--against", "--atlas")
"""Options whose value names a file or folder of the machine."""


def git(*arguments: str, root: Path = ROOT) -> str | None:
    """What a git command prints, without the line's end; None where it fails or git is missing."""
    try:
        done = subprocess.run(
            ["git", "-C", str(root), *arguments], capture_output=True, text=True, check=True
        )
    except (OSError, subprocess.CalledProcessError):
        return None
    return done.stdout.strip()


def processor() -> str:
    """The processor's model, as the system names it."""
    try:
        for line in Path("/proc/cpuinfo").read_text(encoding="utf-8").splitlines():
            name, _, value = line.partition(":")
            if name.strip() == "model name":
                return value.strip()
    except OSError:
        pass
    return platform.processor() or "unknown"


def command() -> str:
    """The command of this process, without what names a place on this machine."""
    spec = getattr(sys.modules["__main__"], "__spec__", None)
    words = ["python", "-m", spec.name if spec is not None else Path(sys.argv[0]).stem]
    given = iter(sys.argv[1:])
    for word in given:
        name, same_word, _ = word.partition("=")
        if name not in PLACES:
            words.append(word)
        elif not same_word:
            next(given, None)
    return shlex.join(words)


def environment(solver: str, root: Path = ROOT) -> dict[str, Any]:
    """What a record names: nothing in it tells which machine it was.

    Args:
        solver: what questions were put to; "none" where no question was put.
        root: the checkout.

    Returns:
        ``commit`` is the whole hash or None outside a history; ``changed`` tells whether the
        program or its benchmarks were changed since that commit.
    """
    changed = git("status", "--porcelain", "--", *MEASURED, root=root)
    return {
        "date": datetime.datetime.now(tz=datetime.UTC).date().isoformat(),
        "commit": git("rev-parse", "--verify", "HEAD", root=root),
        "changed": bool(changed),
        "command": command(),
        "solver": solver,
        "gatefit": version("gatefit"),
        "python": platform.python_version(),
        "python-sat": version("python-sat"),
        "processor": processor(),
        "processors": os.cpu_count(),
        "architecture": platform.machine(),
    }


def keep(path: Path | None, *, solver: str, **values: Any) -> None:
    """Write what was measured, and on what, where a file is named."""
    if path is not None:
        record = {**environment(solver), **values}
        path.write_text(json.dumps(record, indent=1) + "\n", encoding="utf-8")
