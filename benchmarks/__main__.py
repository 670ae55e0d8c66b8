"""Lists every benchmark with the age of its record and the command that renews it.

    python -m benchmarks            # all of them
    python -m benchmarks --old      # those whose record is older than what it measures

A record is old when a later commit changed what it rests on (``benchmarks/table.py``), or when the
default solver is another now. ``benchmarks/README.md`` tells what each of them measures.
"""

from __future__ import annotations

import argparse

from benchmarks.ages import Age, age_of
from benchmarks.table import BENCHMARKS, RECORDS, Benchmark
from synth.search.workers.solvers import DEFAULT_SOLVER


def shown(benchmark: Benchmark, age: Age) -> list[str]:
    """The lines of one benchmark."""
    name = benchmark.record or "no record"
    commit = "no commit" if age.commit is None else age.commit[:7]
    commits = "age unknown" if age.commits is None else f"{age.commits} commits ago"
    when = "never" if age.date == "never" else f"{age.date}, {commit}, {commits}"
    lines = [f"{name}: {when}{', OLD' if age.old else ''}", f"    {benchmark.what}"]
    if age.old:
        lines.append(f"    because: {'; '.join(age.old)}")
    if age.lacks:
        lines.append(f"    does not name: {', '.join(age.lacks)}")
    for other in benchmark.beside:
        lines.append(f"    beside it: {other}")
    lines.append(f"    {'renew' if benchmark.record else 'run'} ({benchmark.takes}):")
    lines.append(f"        {benchmark.renew}")
    return lines


def main() -> None:
    """Print the list."""
    parser = argparse.ArgumentParser(description="List the benchmarks and how old they are.")
    parser.add_argument("--old", action="store_true", help="only those whose record is old")
    options = parser.parse_args()
    ages = [(benchmark, age_of(benchmark, RECORDS, DEFAULT_SOLVER)) for benchmark in BENCHMARKS]
    for benchmark, age in ages:
        if age.old or not options.old:
            print("\n".join(shown(benchmark, age)))
    old = sum(bool(age.old) for _, age in ages)
    print(f"{len(ages)} benchmarks, {old} with an old record")


if __name__ == "__main__":
    main()
