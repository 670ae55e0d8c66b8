"""A child process that asks one window after another (``crew.Helpers``)."""

from __future__ import annotations

import os
from collections.abc import Callable
from typing import Any

from synth.search.workers.child import receive, send, sendable, served
from synth.shrinking.asking import Reply, answer


def main() -> None:
    """Answer windows."""
    serve(lambda asking, parent: answer(asking, parent=parent), Reply("undecided"))


def serve(answer: Callable[[Any, int], object], too_large: object) -> None:
    """Answer orders from standard input until it ends or the parent has ended.

    Args:
        answer: answers an order; it is given the process to live as long as.
        too_large: the answer where memory does not suffice.
    """
    parent = os.getppid()
    with served() as (source, output):
        while True:
            order = receive(source)
            try:
                reply = answer(order, parent)
            except MemoryError:
                reply = too_large
            except Exception as error:
                send(output, sendable(error))
                continue
            send(output, reply)
