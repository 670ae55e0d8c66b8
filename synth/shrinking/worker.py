"""A child process that asks one window after another (``crew.Helpers``)."""

from __future__ import annotations

from synth.search.workers.child import serve
from synth.shrinking.asking import Reply, answer


def main() -> None:
    """Answer windows."""
    serve(lambda asking, parent: answer(asking, parent=parent), Reply("undecided"))
