"""The resources of this machine."""

from __future__ import annotations

import os
from pathlib import Path

from synth.defaults import MOST_WORKERS


def default_workers() -> int:
    """The number of processors, up to ``MOST_WORKERS``."""
    return max(1, min(MOST_WORKERS, os.cpu_count() or 1))


def processor_seconds_of(process_id: int) -> float | None:
    """The seconds of a processor that a process has had; None where the system does not tell."""
    try:
        text = Path(f"/proc/{process_id}/stat").read_text(encoding="utf-8", errors="replace")
    except OSError:
        return None
    # After the name, which may hold anything, in brackets: from the third field on (proc(5)).
    fields = text.rpartition(")")[2].split()
    in_user, in_kernel = int(fields[11]), int(fields[12])
    return (in_user + in_kernel) / os.sysconf("SC_CLK_TCK")
