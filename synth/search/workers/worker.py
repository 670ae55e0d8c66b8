"""A child process that answers one task after another.

The child both encodes and solves, so that a time limit stops both and the parent stays free. It
first writes that it is ready; then it reads ``Task`` values and writes ``Reply`` values, or the
exception that a task raised (``synth.search.workers.child``).
"""

from __future__ import annotations

import os

from synth.search.workers.child import receive, send, sendable, served
from synth.search.workers.task import Task, answered

READY = "ready"
"""What a worker says once it has begun."""


def main() -> None:
    """Serve tasks until the input ends."""
    parent = os.getppid()
    with served() as (source, output):
        send(output, READY)
        while True:
            task: Task = receive(source)
            try:
                reply = answered(task, parent)
            except Exception as error:
                send(output, sendable(error))
                continue
            send(output, reply)
