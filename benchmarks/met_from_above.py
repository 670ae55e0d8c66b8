"""Smallest layouts that are proven: how many are met from above, with no search from below.

python -m benchmarks.met_from_above [--count N] [--delays T,...] [--most S] [--record FILE]

Of the demo library's questions at these delays whose smallest layout is proven, some are drawn at
random, the same in every run. Each is composed, placed and shrunk, in a process for each processor
with a seed of its own, until the volume is the proven one, or the time is up. Nothing is taken from
the store but the question and that volume. With ``--record`` every question is kept as it is done,
and one that the file holds is not asked again.
"""

from __future__ import annotations

import argparse
import json
import os
import random
import time
from pathlib import Path
from typing import Any

from benchmarks.record import environment, keep
from synth.library import Canonical, Store
from synth.search.above.from_above import FromAbove
from synth.search.workers.solvers import DEFAULT_SOLVER

LIBRARY = Path(__file__).parent / "demo_library.sqlite"

WAIT_S = 0.05
"""How often gains are looked for, in seconds."""


def proven(delays: tuple[int, ...]) -> list[tuple[int, Canonical, int]]:
    """Number, question and least volume of every proven layout at these delays."""
    found = []
    with Store(LIBRARY) as store:
        for number in store.numbers():
            entry, asked, answer = store.answered(number)
            if answer.proven and answer.layout is not None and entry.delay_asked in delays:
                found.append((number, asked, answer.layout.volume))
    return found


def met(asked: Canonical, least: int, most_s: float, processes: int) -> dict[str, Any]:
    """Go down from above until the least volume is met, or the time is up.

    Args:
        asked: the question.
        least: the volume to meet.
        most_s: seconds at most.
        processes: how many shrink side by side; each hears of the gains of the others.
    """
    problem = asked.problem
    began = time.monotonic()
    with FromAbove(problem, problem.limits, time_limit_s=most_s) as above:
        gains = above.gains()
        above.join(processes - 1)
        best = None
        while True:
            over = not above.busy
            for found in [*gains, *above.gains()]:
                best = min(found.layout.volume, best or found.layout.volume)
            gains = []
            spent = time.monotonic() - began
            if over or spent >= most_s or (best is not None and best <= least):
                break
            time.sleep(WAIT_S)
    return {"least": least, "best": best, "met": best == least, "seconds": round(spent, 1)}


def main() -> None:
    """Measure, keep and print."""
    parser = argparse.ArgumentParser(description="Proven layouts, met from above.")
    parser.add_argument("--count", type=int, default=40, help="how many questions are drawn")
    parser.add_argument("--delays", default="3,4", help="ticks asked")
    parser.add_argument("--most", type=float, default=300.0, help="seconds a question at most")
    parser.add_argument("--processes", type=int, default=os.cpu_count() or 1, help="side by side")
    parser.add_argument("--record", type=Path)
    options = parser.parse_args()
    every = proven(tuple(map(int, options.delays.split(","))))
    drawn = random.Random(0).sample(every, min(options.count, len(every)))
    rows: list[dict[str, Any]] = []
    if options.record is not None and options.record.exists():
        rows = json.loads(options.record.read_text(encoding="utf-8"))["rows"]
    done = {row["number"] for row in rows}
    head = environment(DEFAULT_SOLVER)
    own = {key: head[key] for key in ("date", "commit", "changed")}
    for number, asked, least in drawn:
        if number in done:
            continue
        load = round(os.getloadavg()[0], 1)
        row = {"number": number, "load": load, "processes": options.processes, "measured": own}
        rows.append(row | met(asked, least, options.most, options.processes))
        keep(options.record, solver=DEFAULT_SOLVER, of=len(every), rows=rows)
        print(rows[-1], flush=True)
    count = sum(row["met"] for row in rows)
    print(f"{count} of {len(rows)} met; {len(every)} are proven at these delays")


if __name__ == "__main__":
    main()
