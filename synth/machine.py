"""The resources of this machine."""

from __future__ import annotations

import os

from synth.defaults import MOST_WORKERS


def default_workers() -> int:
    """The number of processors, up to ``MOST_WORKERS``."""
    return max(1, min(MOST_WORKERS, os.cpu_count() or 1))
