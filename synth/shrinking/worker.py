"""A child process that asks one window after another (``crew.Helpers``)."""

from __future__ import annotations

import os

from synth.search.workers.child import receive, send, sendable, served
from synth.shrinking.asking import Reply, answer


def main() -> None:
    """Answer windows from standard input until it ends or the parent has ended."""
    parent = os.getppid()
    with served() as (source, output):
        while True:
            asking = receive(source)
            try:
                reply = answer(asking, parent=parent)
            except MemoryError:
                reply = Reply("undecided")
            except Exception as error:
                send(output, sendable(error))
                continue
            send(output, reply)
