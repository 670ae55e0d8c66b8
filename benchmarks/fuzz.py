"""Broken and hostile inputs by the thousand: no traceback, no hang, no memory eaten.

python -m benchmarks.fuzz [--inputs N] [--seed S] [--kinds NAME ...] [--record FILE]

Each input is a command with its files (``tests/fuzz``), run in a child process that may have 1 GB
of memory and, for each input, 10 seconds of its processor. What counts as a fault: an exit code
that is none of the documented answers, a traceback, more than one line about input that cannot be
used, and a child that ends or is too slow. Inputs are drawn from the seed and their number, so a
fault can be had again: ``--seed S --only KIND/NUMBER``.
"""

from __future__ import annotations

import argparse
import json
import os
import resource
import subprocess
import sys
import tempfile
import threading
import time
from collections import Counter
from collections.abc import Callable, Mapping
from pathlib import Path
from random import Random

from benchmarks.record import keep
from tests.fuzz.cases import KINDS as BROKEN
from tests.fuzz.cases import Case, run
from tests.fuzz.large import large_case, random_case

MEMORY_BYTES = 1 << 30
SECONDS = 10
SILENCE_S = 600.0
"""Seconds of the clock after which a child that says nothing is taken to wait for ever."""

KINDS: Mapping[str, Callable[[Random], Case]] = {
    **BROKEN,
    "random": random_case,
    "large": large_case,
}
SHARES = {"journal": 0.3, "large": 0.05}
"""How often a kind is tried beside the others: these take longer."""


def main() -> int:
    """Try, print a summary, keep a record."""
    parser = argparse.ArgumentParser(description="Try broken inputs on every command.")
    parser.add_argument("--inputs", type=int, default=10_000)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--kinds", nargs="*", choices=list(KINDS), default=list(KINDS))
    parser.add_argument("--only", help=argparse.SUPPRESS)
    parser.add_argument("--child", nargs=3, help=argparse.SUPPRESS)
    parser.add_argument("--record", type=Path)
    options = parser.parse_args()
    if options.child is not None:
        kind, first, last = options.child
        return _child(options.seed, kind, range(int(first), int(last)))
    if options.only is not None:
        kind, _, number = options.only.partition("/")
        return _child(options.seed, kind, range(int(number), int(number) + 1))
    began = time.perf_counter()
    weights = {kind: SHARES.get(kind, 1.0) for kind in options.kinds}
    rows = {}
    faults: list[str] = []
    for kind, weight in weights.items():
        count = max(1, round(options.inputs * weight / sum(weights.values())))
        rows[kind] = _tried(options.seed, kind, count, faults)
        print(kind, json.dumps(rows[kind]), flush=True)
    for fault in faults:
        print(f"FAULT {fault}")
    total = sum(row["inputs"] for row in rows.values())
    print(f"{total} inputs, {len(faults)} faults")
    keep(
        options.record,
        solver="none",
        inputs=total,
        seed=options.seed,
        kinds=rows,
        faults=faults,
        seconds=round(time.perf_counter() - began),
        bounds={"memory_bytes": MEMORY_BYTES, "processor_seconds": SECONDS},
    )
    return 1 if faults else 0


def _tried(seed: int, kind: str, count: int, faults: list[str]) -> dict[str, object]:
    """Try so many inputs of a kind; children are started anew where one is lost."""
    codes: Counter[str] = Counter()
    slowest = 0.0
    memory = 0
    number = 0
    while number < count:
        command = [sys.executable, "-m", "benchmarks.fuzz", "--seed", str(seed)]
        child = subprocess.Popen(
            [*command, "--child", kind, str(number), str(count)],
            stdout=subprocess.PIPE,
            stderr=subprocess.PIPE,
            text=True,
        )
        assert child.stdout is not None
        assert child.stderr is not None
        watch = _watched(child)
        for line in child.stdout:
            watch.cancel()
            watch = _watched(child)
            told = json.loads(line)
            number = told["number"] + 1
            codes[str(told["code"])] += 1
            slowest = max(slowest, told["seconds"])
            memory = max(memory, told["memory_bytes"])
            if told["fault"] is not None:
                faults.append(f"{kind}/{told['number']}: {told['fault']}")
        watch.cancel()
        said = child.stderr.read()[-300:]
        if child.wait() != 0:
            faults.append(f"{kind}/{number}: the process was lost ({child.returncode}): {said}")
            number += 1
    return {
        "inputs": count,
        "exit_codes": dict(sorted(codes.items())),
        "slowest_seconds": round(slowest, 2),
        "most_memory_bytes": memory,
    }


def _watched(child: subprocess.Popen[str]) -> threading.Timer:
    """Ends the child if nothing comes of it for long."""
    watch = threading.Timer(SILENCE_S, child.kill)
    watch.daemon = True
    watch.start()
    return watch


def _child(seed: int, kind: str, numbers: range) -> int:
    """Run inputs in this process under the bounds, telling of each in a line."""
    resource.setrlimit(resource.RLIMIT_AS, (MEMORY_BYTES, MEMORY_BYTES))
    out = os.fdopen(os.dup(1), "w", encoding="utf-8")
    for number in numbers:
        case = KINDS[kind](Random(f"{seed} {kind} {number}"))
        with tempfile.TemporaryDirectory() as folder:
            _allow(SECONDS)
            began = time.process_time()
            ended = run(case, Path(folder))
            seconds = time.process_time() - began
        told = {
            "number": number,
            "code": ended.code,
            # Where the details are is of no use in a record.
            "fault": (ended.fault() or "").partition("; the details are in")[0] or None,
            "seconds": seconds,
            "memory_bytes": resource.getrusage(resource.RUSAGE_SELF).ru_maxrss * 1024,
        }
        out.write(json.dumps(told) + "\n")
        out.flush()
    return 0


def _allow(seconds: int) -> None:
    """Let this process use its processor for so long from now on; then the kernel ends it.

    Of the processor, not of the clock: what else the machine does is no fault of an input.
    """
    used = time.process_time()
    _, most = resource.getrlimit(resource.RLIMIT_CPU)
    resource.setrlimit(resource.RLIMIT_CPU, (int(used) + seconds + 1, most))


if __name__ == "__main__":
    sys.exit(main())
