"""A child process that answers one task after another.

The child both encodes and solves, so that a time limit stops both and the parent stays free. It
first writes that it is ready; then it reads ``Task`` values and writes ``Reply`` values, or the
exception that a task raised (``synth.search.workers.child``).
"""

from __future__ import annotations

from synth.search.workers.child import serve
from synth.search.workers.task import TOO_LARGE, answer

READY = "ready"
"""What a worker says once it has begun."""


def main() -> None:
    """Serve tasks until the input ends."""
    serve(answer, TOO_LARGE, hello=READY)
