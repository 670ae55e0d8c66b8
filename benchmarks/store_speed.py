"""How quick a store of ten thousand results is: listing, finding, recalling, opening.

python -m benchmarks.store_speed [--entries N] [--record FILE]

The results are invented but for those of one function, whose layouts are real and found for many
limits, so that finding has many to judge. Times are the best of several runs, in seconds.
"""

from __future__ import annotations

import argparse
import contextlib
import io
import json
import random
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from itertools import islice
from pathlib import Path

from benchmarks.record import keep
from synth.cli.main import main as gatefit
from synth.layout import Layout
from synth.library import Canonical, Query, Store
from synth.library.answer import Answer
from synth.library.canonical import function_key
from synth.library.similar import matches
from synth.medium import SOLID
from synth.questions.outcome import Status
from synth.questions.problem import Problem
from synth.search import solve
from synth.search.workers.solvers import DEFAULT_SOLVER
from synth.spec import BooleanFunction, Limits, Spec, StackDemand

REAL = "q = a & ~b"
REAL_LIMITS = 200
"""Entries of the one function that has real layouts."""

RUNS = 5
VOLUME = ("volume",)


def main() -> None:
    """Build, measure and print."""
    parser = argparse.ArgumentParser(description="Measure a large store.")
    parser.add_argument("--entries", type=int, default=10_000)
    parser.add_argument("--record", type=Path)
    options = parser.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder, "large.sqlite")
        began = time.perf_counter()
        build(path, options.entries)
        row: dict[str, object] = {
            "entries": options.entries,
            "build_seconds": round(time.perf_counter() - began, 1),
            "megabytes": round(path.stat().st_size / 1e6, 1),
            "seconds": {name: best(action) for name, action in actions(path).items()},
        }
    print(json.dumps(row, indent=1))
    keep(options.record, solver=DEFAULT_SOLVER, **row)


def build(path: Path, count: int) -> None:
    """A store of so many entries, in one transaction."""
    chance = random.Random(1)
    spec = Spec.parse(REAL, length=3, width=2, height=3, delay=2)
    outcome = solve(spec, workers=1)
    real = function_key(spec.function)
    with Store(path) as store, store.writing():
        for number in range(REAL_LIMITS):
            limits = Limits(3 + number % 10, 2 + number // 100, 3 + number // 10 % 10, delay=2)
            store.keep(Problem(spec.replace(limits=limits), VOLUME), outcome)
        keys: set[str] = set()
        while len(keys) < count - REAL_LIMITS:
            asked, _ = Canonical.of(Problem(question(chance), VOLUME))
            # Invented answers to one question would contradict each other.
            if asked.key not in keys and function_key(asked.spec.function) != real:
                keys.add(asked.key)
                store.keep_answer(asked, answer(chance), chance.choice(["", "a gate", "another"]))


def question(chance: random.Random) -> Spec:
    """Any function of one to four inputs, under any limits."""
    inputs = tuple("abcd"[: chance.randint(1, 4)])
    columns = {
        name: "".join(chance.choice("01") for _ in range(1 << len(inputs)))
        for name in ("q", "r")[: chance.choice([1, 1, 1, 2])]
    }
    sides = (chance.randint(3, 6), chance.randint(2, 4), chance.randint(3, 6))
    return Spec(
        BooleanFunction(inputs, columns),
        Limits(*sides, delay=chance.randint(1, 6)),
        stack=chance.choice([None, StackDemand("y")]),
    )


def answer(chance: random.Random) -> Answer:
    """Any answer; of its layout only the measures are like real ones."""
    status = chance.choice([Status.FOUND, Status.FOUND, Status.IMPOSSIBLE, Status.UNDECIDED])
    size = (chance.randint(1, 5), chance.randint(1, 3), chance.randint(1, 5))
    cells = {(0, 0, z): SOLID for z in range(size[2])}
    layout = None if status is Status.IMPOSSIBLE else Layout(size, cells)
    return Answer(
        status=status,
        proven=status is not Status.UNDECIDED,
        layout=layout,
        delay=None if layout is None else chance.randint(1, 6),
        bound=chance.randint(1, 3) if status is Status.UNDECIDED else None,
        claim="invented",
        solver="cadical195",
        seconds=chance.random(),
    )


def actions(path: Path) -> dict[str, Callable[[], object]]:
    """What is measured, each from opening the store on."""
    limits = {"length": 12, "width": 3, "height": 12, "delay": 2}
    wanted = Spec.parse("z = ~u & v", **limits)
    known = Spec.parse(REAL, length=3, width=2, height=3, delay=2)
    name = str(path)

    def with_store(action: Callable[[Store], object]) -> Callable[[], object]:
        def run() -> object:
            with Store(path, create=False) as store:
                return action(store)

        return run

    asked = Problem(wanted)
    return {
        "list all": with_store(lambda store: list(store.entries())),
        "list some": with_store(lambda store: list(store.entries(Query(inputs=2, volume=9)))),
        "list by text": with_store(lambda store: list(store.entries(Query(text="x1 ^ x2")))),
        "find the ten smallest": with_store(lambda store: list(islice(matches(store, asked), 10))),
        "recall": with_store(lambda store: store.recall(Problem(known, VOLUME))),
        "one entry": with_store(lambda store: store.entry(REAL_LIMITS)),
        "command list --arity 2": command("library", "list", "--store", name, "--arity", "2"),
        "command list (all printed)": command("library", "list", "--store", name),
        "command find": command("library", "find", "z = ~u & v", "--delay", "2", "--store", name),
        "process find": process("library", "find", "z = ~u & v", "--delay", "2", "--store", name),
        "process --version": process("--version"),
    }


def command(*arguments: str) -> Callable[[], object]:
    """A command in this process, all of it but the start of Python."""

    def run() -> object:
        with contextlib.redirect_stdout(io.StringIO()):
            assert gatefit(arguments) == 0
        return None

    return run


def process(*arguments: str) -> Callable[[], object]:
    """A command as a shell runs it."""
    words = [sys.executable, "-m", "synth.cli.main", *arguments]
    return lambda: subprocess.run(words, check=True, capture_output=True)


def best(action: Callable[[], object]) -> float:
    """Seconds of the quickest of several runs."""
    times = []
    for _ in range(RUNS):
        began = time.perf_counter()
        action()
        times.append(time.perf_counter() - began)
    return round(min(times), 4)


if __name__ == "__main__":
    main()
