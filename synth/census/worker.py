"""A child process that takes the census of one box after another (``synth.census.helpers``)."""

from __future__ import annotations

import os

from synth.census.running import Ended, Task, run
from synth.search.workers.child import receive, send, sendable, served


def main() -> None:
    """Serve tasks from standard input until it ends, and report on each up to its ``Ended``."""
    parent = os.getppid()
    with served() as (source, output):
        while True:
            task: Task = receive(source)
            try:
                for told in run(task, parent):
                    send(output, told)
            except MemoryError:
                send(output, Ended(False, "this machine ran out of memory"))
            except Exception as error:
                send(output, sendable(error))
