"""A child process that answers one task after another.

The child both encodes and solves, so that a time limit stops both and the parent stays free. It
reads ``Task`` values and writes ``Reply`` values, or the exception that a task raised
(``synth.search.workers.child``).
"""

from __future__ import annotations

import os

from synth.search.workers.child import receive, send, sendable, served
from synth.search.workers.task import Reply, Task, answer


def main() -> None:
    """Serve tasks until the input ends."""
    parent = os.getppid()
    with served() as (source, output):
        while True:
            task: Task = receive(source)
            try:
                reply = answer(task, parent)
            except MemoryError:
                reply = Reply("undecided", reason="this machine ran out of memory")
            except Exception as error:
                send(output, sendable(error))
                continue
            send(output, reply)
