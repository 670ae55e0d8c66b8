"""How old a record is: commits since what it measured, and which of them changed what it rests on.

A record names its commit. One from before records did so is dated by the commit that kept it.
"""

from __future__ import annotations

import json
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from benchmarks.record import ROOT, git
from benchmarks.table import Benchmark

DEFAULT_SOLVER_LINE = "^DEFAULT_SOLVER = "
"""What a change of the default solver changes, wherever the line stands."""

NAMED = ("commit", "command", "solver", "processor", "processors", "python", "python-sat")
"""What every record has to name."""


@dataclass(frozen=True)
class Age:
    """How a record stands.

    Attributes:
        date: when it was measured, or "never".
        commit: of which the age is told, or None.
        commits: made since, or None if the history does not tell.
        old: why it should be renewed; empty if it need not be.
        lacks: what it does not name.
    """

    date: str
    commit: str | None = None
    commits: int | None = None
    old: tuple[str, ...] = ()
    lacks: tuple[str, ...] = ()


def age_of(benchmark: Benchmark, records: Path, solver: str, root: Path = ROOT) -> Age:
    """The age of a benchmark's record.

    Args:
        benchmark: its line of the table.
        records: the folder of records, within ``root``.
        solver: the default solver of now.
        root: a checkout with its history.
    """
    path = records / (benchmark.record or "")
    if not path.is_file():
        return Age("never", old=("nothing was recorded yet",) if benchmark.record else ())
    record: dict[str, Any] = json.loads(path.read_text(encoding="utf-8"))
    lacks = tuple(name for name in NAMED if record.get(name) is None)
    date = str(record.get("date", "unknown"))
    kept = git("log", "-1", "--format=%H", "--", str(path), root=root)
    commit = record.get("commit") or kept
    count = git("rev-list", "--count", f"{commit}..HEAD", root=root) if commit else None
    if not commit or count is None:
        return Age(date, commit or None, None, ("this history does not have its commit",), lacks)
    old = []
    if record.get("changed"):
        old.append("measured with changes that were not committed")
    for name in benchmark.rests_on:
        since = git("rev-list", "--count", f"{commit}..HEAD", "--", name, root=root)
        if since not in (None, "0"):
            old.append(f"{name} changed since ({since} {'commit' if since == '1' else 'commits'})")
    if benchmark.default_solver and _of_another_default(record, commit, solver, root):
        old.append(f"the default solver is now {solver}")
    return Age(date, commit, int(count), tuple(old), lacks)


def _of_another_default(record: dict[str, Any], commit: str, solver: str, root: Path) -> bool:
    """Whether the default solver changed since, by the record's word or else by the history."""
    if "solver" in record:
        return bool(record["solver"] != solver)
    changed = git(
        "log",
        "--format=%H",
        f"-G{DEFAULT_SOLVER_LINE}",
        f"{commit}..HEAD",
        "--",
        "synth",
        root=root,
    )
    return bool(changed)
