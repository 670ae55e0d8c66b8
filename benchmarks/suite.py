"""Hard boxes, full against plain, one acceleration left out at a time, solver against solver.

    python -m benchmarks.suite                     # full against plain, question by question,
                                                   # plain with the solver that does it best
    python -m benchmarks.suite --each              # each acceleration left out alone
    python -m benchmarks.suite --solvers           # every solver that qualifies
    python -m benchmarks.suite --workers           # the whole suite with one worker and with two
    python -m benchmarks.suite --walk              # exclusive-or: found and proven smallest

Times are of solving and encoding in one process; compare them within a run, not between runs.
``--record FILE`` keeps the rows with what they were measured on.
"""

from __future__ import annotations

import argparse
import time
from collections.abc import Iterator
from concurrent.futures import wait
from itertools import product
from pathlib import Path
from typing import Any

from benchmarks.asking import asked
from benchmarks.record import keep
from synth.encoding import ACCELERATIONS, Question
from synth.layout.pins import show_size
from synth.medium import Size
from synth.search import solve
from synth.search.workers.crew import Crew
from synth.search.workers.solvers import DEFAULT_SOLVER, SOLVERS
from synth.search.workers.task import Task
from synth.spec import Spec

Way = tuple[tuple[str, ...], str]
"""The accelerations left out, and the solver."""

PLAIN_SOLVER = "cadical195"
"""Of plain formulas it decides those of the suite sooner than the default does.
What full is compared with is the better of the two.
"""

QUESTIONS: list[tuple[str, str, str, Size, int]] = [
    ("exclusive-or", "q = a ^ b", "buffer", (3, 2, 4), 2),
    ("exclusive-or", "q = a ^ b", "wire", (5, 2, 3), 2),
    ("exclusive-or", "q = a ^ b", "wire", (3, 2, 5), 2),
    ("exclusive-or", "q = a ^ b", "wire", (4, 2, 4), 2),
    ("exclusive-nor", "q = a ~^ b", "wire", (4, 2, 4), 2),
    ("multiplexer", "q = s ? b : a", "buffer", (3, 2, 4), 2),
    ("majority", "q = a & b | a & c | b & c", "buffer", (4, 2, 4), 2),
]
"""Name, function, joint, box, ticks; all 2-wide and stackable along y."""


def task(number: int, without: tuple[str, ...] = (), solver: str = DEFAULT_SOLVER) -> Task:
    """One question of the suite for a worker."""
    _, text, joint, size, delay = QUESTIONS[number]
    spec = Spec.parse(text, joint=joint, stack="y")
    question = Question(spec, size, delay, sensitive=True)
    return Task(question.without(without), solver)


def measured(
    number: int, limit_s: float, without: tuple[str, ...] = (), solver: str = DEFAULT_SOLVER
) -> dict[str, Any]:
    """Ask one question in a worker of its own; a time of None means the limit came first."""
    name, _, joint, size, delay = QUESTIONS[number]
    return {
        "question": f"{name}, {joint} joints, {show_size(size)}, {delay} ticks",
        "without": list(without),
        "solver": solver,
        **asked(task(number, without, solver), limit_s),
    }


def show(row: dict[str, Any]) -> None:
    """Print a row at once."""
    way = "plain" if len(row["without"]) == len(ACCELERATIONS) else ", ".join(row["without"])
    took = "-" if row["seconds"] is None else f"{row['seconds']:.2f}"
    print(
        f"{row['question']:<52} {way or 'full':<10} {row['solver']:<11} {row['answer']:<11} "
        f"{took:>8}",
        flush=True,
    )


def compared(ways: list[Way], limit_s: float) -> Iterator[dict[str, Any]]:
    """Every question in every way, ways side by side, so that drift hits them alike."""
    for number in range(len(QUESTIONS)):
        for without, solver in ways:
            row = measured(number, limit_s, without, solver)
            show(row)
            yield row


def by_workers(workers: int) -> dict[str, Any]:
    """The whole suite at once with so many workers."""
    began = time.perf_counter()
    with Crew(workers) as crew:
        # The longest first, as any scheduler would.
        futures = [crew.submit(task(number)) for number in reversed(range(len(QUESTIONS)))]
        wait(futures)
    seconds = round(time.perf_counter() - began, 2)
    print(f"suite with {workers} workers: {seconds:.2f} s", flush=True)
    return {"workers": workers, "seconds": seconds}


def walked(joint: str, way_asked: Way, limit_s: float) -> dict[str, Any]:
    """The whole walk: exclusive-or found and everything smaller ruled out."""
    without, solver = way_asked
    spec = Spec.parse("q = a ^ b", joint=joint, length=5, width=2, height=5, delay=2, stack="y")
    began = time.perf_counter()
    outcome = solve(
        spec, workers=1, solver=solver, without=without, time_limit_s=limit_s, fewest_parts=False
    )
    seconds = round(time.perf_counter() - began, 2)
    way = "plain" if without else "full"
    volume = outcome.layout.volume if outcome.layout else None
    print(f"{joint} joints, {way}: {outcome.status}, volume {volume}, {seconds:.2f} s", flush=True)
    return {
        "joint": joint,
        "way": way,
        "solver": solver,
        "status": str(outcome.status),
        "volume": volume,
        "questions": outcome.stats.questions,
        "seconds": seconds,
    }


def main() -> None:
    """Measure what is asked for, print, and record."""
    parser = argparse.ArgumentParser(description="Measure the search on hard boxes.")
    parser.add_argument("--each", action="store_true")
    parser.add_argument("--solvers", action="store_true")
    parser.add_argument("--workers", action="store_true")
    parser.add_argument("--walk", action="store_true")
    parser.add_argument("--plain-solver", default=PLAIN_SOLVER)
    parser.add_argument("--time-limit", type=float, default=600.0, help="seconds a question")
    parser.add_argument("--record", type=Path)
    options = parser.parse_args()
    named: dict[str, str] = {"solver": DEFAULT_SOLVER}
    full: Way = ((), DEFAULT_SOLVER)
    ways: list[Way] = [full, (tuple(ACCELERATIONS), options.plain_solver)]
    measuring: Iterator[dict[str, Any]]
    if options.workers:
        measuring = (by_workers(workers) for workers in (1, 2))
    elif options.walk:
        joints = ("buffer", "wire")
        measuring = (walked(*asked, options.time_limit) for asked in product(joints, ways))
    elif options.solvers:
        named["solver"] = ", ".join(SOLVERS)
        measuring = compared([((), solver) for solver in SOLVERS], options.time_limit)
    elif options.each:
        alone: list[Way] = [((name,), DEFAULT_SOLVER) for name in ACCELERATIONS]
        measuring = compared([full, *alone], options.time_limit)
    else:
        measuring = compared(ways, options.time_limit)
    if not (options.workers or options.solvers or options.each):
        named["plain_solver"] = options.plain_solver
    rows = []
    for row in measuring:
        rows.append(row)
        keep(options.record, **named, rows=rows)


if __name__ == "__main__":
    main()
