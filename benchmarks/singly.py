"""Functions asked about one by one in one process, with the ``synth`` of any checkout.

    python benchmarks/singly.py SIZE DELAY SEED TABLE...

Each line that it prints is one table: what ``solve_box`` answers, and its processor seconds, those
of its worker included. Joints are buffers, boxes stack along y, as in ``benchmarks.census``, which
calls it.
"""

from __future__ import annotations

import json
import os
import resource
import subprocess
import sys
from collections.abc import Iterable, Iterator
from pathlib import Path
from typing import Any


def processor_seconds() -> float:
    """Processor seconds of this process and of those that it started and that ended."""
    usages = map(resource.getrusage, (resource.RUSAGE_SELF, resource.RUSAGE_CHILDREN))
    return sum(usage.ru_utime + usage.ru_stime for usage in usages)


def text_of(table: str) -> str:
    """A column of three inputs as an expression, which every version reads."""
    rows = [f"{row:03b}" for row, value in enumerate(table) if value == "1"]
    products = (
        " & ".join(("" if bit == "1" else "~") + name for name, bit in zip("abc", row, strict=True))
        for row in rows
    )
    return "q = " + " | ".join(f"({product})" for product in products)


def ask(size: tuple[int, int, int], delay: int, seed: int, table: str) -> dict[str, Any]:
    """Ask about one function in this process."""
    from synth.search import solve_box
    from synth.spec import Spec

    spec = Spec.parse(text_of(table), joint="buffer", stack="y")
    began = processor_seconds()
    outcome = solve_box(spec, size, delay, solver="glucose42", seed=seed)
    seconds = processor_seconds() - began
    return {"table": table, "answer": str(outcome.status), "seconds": round(seconds, 3)}


def asked_with(
    checkout: Path, size: tuple[int, int, int], delay: int, seed: int, tables: Iterable[str]
) -> Iterator[dict[str, Any]]:
    """Ask about each table in one process that has the ``synth`` of a checkout."""
    words = ["x".join(map(str, size)), str(delay), str(seed), *tables]
    process = subprocess.Popen(
        [sys.executable, str(Path(__file__).resolve()), *words],
        cwd=checkout,
        env={**os.environ, "PYTHONPATH": str(checkout.resolve())},
        stdout=subprocess.PIPE,
        text=True,
    )
    assert process.stdout is not None
    with process, process.stdout:
        yield from map(json.loads, process.stdout)
    if process.returncode != 0:
        raise RuntimeError(f"the other checkout ended with code {process.returncode}")


def main() -> None:
    """Ask about every table given."""
    box, delay, seed, *tables = sys.argv[1:]
    length, width, height = map(int, box.split("x"))
    for table in tables:
        print(json.dumps(ask((length, width, height), int(delay), int(seed), table)), flush=True)


if __name__ == "__main__":
    main()
