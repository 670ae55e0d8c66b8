"""A batch on two cores: how busy they are kept while jobs remain, and what starting a job costs.

python -m benchmarks.library_build [--time-limit SECONDS] [--workers N] [--record FILE]

Jobs remain until the last one is given out; what is measured ends there. *In jobs* is the share of
that time that workers had a job; *on processors* is the share that
processors spent in this process and its workers, over the whole build. The cost of starting a job
is the time between giving it out and taking in its result, less the time its search says it took.
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

from benchmarks.record import environment
from synth.library import Store
from synth.library.build import Build
from synth.library.events import Event, JobEnded, JobFailed, JobStarted
from synth.library.recipe import load_recipe

RECIPE = """
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


@dataclass
class Clock:
    """Notes when jobs begin and end.

    Attributes:
        last: when the last job was given out.
        running: when each job under way was given out, by its question.
        spans: of each job that ended, when its work began and ended.
        costs: of each job that ended, seconds that are not its search's.
    """

    last: float = 0.0
    running: dict[str, float] = field(default_factory=dict)
    spans: list[tuple[float, float]] = field(default_factory=list)
    costs: list[float] = field(default_factory=list)

    def event(self, event: Event) -> None:
        """Note the time of one event."""
        now = time.perf_counter()
        if isinstance(event, JobStarted):
            self.last = self.running[event.asked.key] = now
        elif isinstance(event, JobFailed):
            del self.running[event.asked.key]
        elif isinstance(event, JobEnded):
            given_out = self.running.pop(event.asked.key)
            self.spans.append((given_out, now))
            self.costs.append(now - given_out - float(event.outcome.stats["seconds"]))


def processor_seconds() -> float:
    """Seconds of processors spent in this process and in workers that have ended."""
    spent = os.times()
    return spent.user + spent.system + spent.children_user + spent.children_system


def main() -> None:
    """Build, print, record."""
    parser = argparse.ArgumentParser(description="Measure a build.")
    parser.add_argument("--time-limit", type=float, default=300.0)
    parser.add_argument("--workers", type=int, default=2)
    parser.add_argument("--record", type=Path)
    options = parser.parse_args()
    clock = Clock()
    with tempfile.TemporaryDirectory() as name:
        recipe = Path(name) / "gates.toml"
        recipe.write_text(RECIPE, encoding="utf-8")
        with Store(Path(name) / "gates.sqlite") as store:
            build = Build(
                load_recipe(recipe),
                store,
                slots=options.workers,
                watcher=clock,
                time_limit_s=options.time_limit,
            )
            before, began = processor_seconds(), time.perf_counter()
            summary = build.run()
            wall_s = time.perf_counter() - began
            processors_s = processor_seconds() - before
    # A build that its time limit ends has jobs left until the end; those under way count to it.
    end = began + wall_s if summary.stopped else clock.last
    spans = [*clock.spans, *((since, end) for since in clock.running.values())]
    in_jobs_s = sum(max(0.0, min(to, end) - since) for since, to in spans)
    row = {
        "workers": options.workers,
        "jobs": summary.jobs,
        "seconds": round(wall_s, 1),
        "in_jobs": round(in_jobs_s / (options.workers * (end - began)), 4),
        "on_processors": round(processors_s / (options.workers * wall_s), 4),
        "start_up_seconds": {
            "first": round(clock.costs[0], 4),
            "median": round(statistics.median(clock.costs), 4),
            "most": round(max(clock.costs), 4),
        },
    }
    print(json.dumps(row, indent=1))
    if options.record:
        text = json.dumps({**environment(), **row}, indent=1) + "\n"
        options.record.write_text(text, encoding="utf-8")


if __name__ == "__main__":
    main()
