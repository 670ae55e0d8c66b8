"""One question, put whole to a worker of its own."""

from __future__ import annotations

from concurrent.futures import wait
from typing import Any

from synth.search.workers.crew import Crew
from synth.search.workers.task import Task


def asked(task: Task, limit_s: float) -> dict[str, Any]:
    """What came of it; seconds of writing the formula and of solving it, None if the limit came
    first.
    """
    with Crew(1) as crew:
        future = crew.submit(task)
        done, _ = wait([future], timeout=limit_s)
        reply = future.result() if done else None
    return {
        "answer": reply.answer if reply else "not in time",
        "seconds": round(reply.encode_seconds + reply.solve_seconds, 3) if reply else None,
        "variables": reply.variables if reply else None,
        "clauses": reply.clauses if reply else None,
    }
