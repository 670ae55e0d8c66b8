"""What this machine has to work with."""

from __future__ import annotations

import os


def default_workers() -> int:
    """As many as there are processors, up to 4."""
    return max(1, min(4, os.cpu_count() or 1))
