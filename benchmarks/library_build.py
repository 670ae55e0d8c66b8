"""A batch on two cores: how busy they are kept while jobs remain, and what starting a job costs.

python -m benchmarks.library_build [--time-limit SECONDS] [--workers N] [--record FILE]

Jobs remain until the last one is given out; what is measured ends there. *In jobs* is the share of
that time that workers had a job; *on processors* is the share that processors spent in this process
and its workers, over the whole build. What starting a job costs is bounded from above by whole jobs
that take next to nothing to answer: from giving one out to having its answer in the store. The
first ones start the worker processes as well.
"""

from __future__ import annotations

import argparse
import json
import os
import statistics
import tempfile
import time
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from benchmarks.record import keep
from synth.library import Store
from synth.library.build import Build
from synth.library.events import Event, JobEnded, JobFailed, JobStarted, Summary
from synth.library.recipe import load_recipe
from synth.search.workers.solvers import DEFAULT_SOLVER

HARD = """
minimize = ["volume"]
[functions]
all_of = [1, 2]
[time]
first = 10
most = 160
[[asks]]
stack = "y"
joints = ["wire", "buffer"]
delays = [1, 2, 3, 4]
length = 5
width = 2
height = 5
"""

EASY = """
minimize = ["volume"]
[functions]
all_of = [1]
[time]
first = 10
most = 10
[[asks]]
joints = ["wire", "buffer"]
delays = [1, 2, 3, 4]
length = 1
width = 1
height = 2
"""


@dataclass
class Clock:
    """Notes when jobs begin and end.

    Attributes:
        last: when the last job was given out.
        running: when each job under way was given out, by its question.
        spans: of each job that ended, when it was given out and when its answer was in the store.
    """

    last: float = 0.0
    running: dict[str, float] = field(default_factory=dict)
    spans: list[tuple[float, float]] = field(default_factory=list)

    def event(self, event: Event) -> None:
        """Note the time of one event."""
        now = time.perf_counter()
        if isinstance(event, JobStarted):
            self.last = self.running[event.asked.key] = now
        elif isinstance(event, JobFailed):
            del self.running[event.asked.key]
        elif isinstance(event, JobEnded):
            self.spans.append((self.running.pop(event.asked.key), now))


def processor_seconds() -> float:
    """Seconds of processors spent in this process and in workers that have ended."""
    spent = os.times()
    return spent.user + spent.system + spent.children_user + spent.children_system


def built(text: str, workers: int, time_limit_s: float | None) -> tuple[Summary, Clock]:
    """Build a recipe into a store that is thrown away."""
    clock = Clock()
    with tempfile.TemporaryDirectory() as name:
        recipe = Path(name) / "gates.toml"
        recipe.write_text(text, encoding="utf-8")
        with Store(Path(name) / "gates.sqlite") as store:
            build = Build(
                load_recipe(recipe),
                store,
                slots=workers,
                watcher=clock,
                time_limit_s=time_limit_s,
            )
            return build.run(), clock


def busy(workers: int, time_limit_s: float) -> dict[str, Any]:
    """How busy workers are with questions that take a while."""
    before, began = processor_seconds(), time.perf_counter()
    summary, clock = built(HARD, workers, time_limit_s)
    wall_s = time.perf_counter() - began
    processors_s = processor_seconds() - before
    # A build that its time limit ends has jobs left until the end; those under way count to it.
    end = began + wall_s if summary.stopped else clock.last
    spans = [*clock.spans, *((since, end) for since in clock.running.values())]
    in_jobs_s = sum(max(0.0, min(to, end) - since) for since, to in spans)
    return {
        "jobs": summary.jobs,
        "seconds": round(wall_s, 1),
        "in_jobs": round(in_jobs_s / (workers * (end - began)), 4),
        "on_processors": round(processors_s / (workers * wall_s), 4),
    }


def start_up(workers: int) -> dict[str, Any]:
    """Seconds of jobs that take next to nothing to answer."""
    _, clock = built(EASY, workers, None)
    seconds = [to - since for since, to in sorted(clock.spans)]
    first, later = seconds[:workers], seconds[workers:]
    return {
        "jobs": len(seconds),
        "first": round(max(first), 4),
        "later, median": round(statistics.median(later), 4),
        "later, most": round(max(later), 4),
    }


def main() -> None:
    """Build, print, record."""
    parser = argparse.ArgumentParser(description="Measure a build.")
    parser.add_argument("--time-limit", type=float, default=300.0)
    parser.add_argument("--workers", type=int, default=2)
    parser.add_argument("--record", type=Path)
    options = parser.parse_args()
    row = {
        "workers": options.workers,
        "start_up_seconds": start_up(options.workers),
        "busy": busy(options.workers, options.time_limit),
    }
    print(json.dumps(row, indent=1))
    keep(options.record, solver=DEFAULT_SOLVER, **row)


if __name__ == "__main__":
    main()
