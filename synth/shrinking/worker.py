"""A child process that asks one window after another (``crew.Helpers``)."""

from __future__ import annotations

import os
import signal
import sys

from synth.search.worker import receive, send
from synth.shrinking.asking import Reply, answer


def main() -> None:
    """Answer windows from standard input until it ends, or the parent is gone."""
    parent = os.getppid()
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    # The answers own the real standard output; whatever else prints goes to standard error.
    output = os.fdopen(os.dup(1), "wb")
    os.dup2(2, 1)
    try:
        while True:
            asking = receive(sys.stdin.buffer)
            try:
                reply = answer(asking, parent=parent)
            except MemoryError:
                reply = Reply("undecided")
            except Exception as error:
                send(output, error)
                continue
            send(output, reply)
    except (EOFError, BrokenPipeError):
        return
