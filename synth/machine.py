"""The resources of this machine."""

from __future__ import annotations

import gc
import os
from pathlib import Path

from synth.defaults import MOST_WORKERS

NEW_OBJECTS = 100_000
"""How many new objects a process makes before Python looks for garbage among them."""


def look_for_garbage_seldom() -> None:
    """Let Python look for garbage less often in this process.

    A formula is made of a million small lists, and a composition is tried in thousands of ways:
    hardly any of it is garbage that only a search finds. At Python's own 700 new objects the
    looking takes a tenth of writing a formula, and a sixth of composing and judging.
    """
    gc.set_threshold(NEW_OBJECTS)


def default_workers() -> int:
    """The number of processors, up to ``MOST_WORKERS``."""
    return max(1, min(MOST_WORKERS, os.cpu_count() or 1))


def processor_seconds_of(process_id: int) -> float | None:
    """The seconds of a processor that a process has had; None where the system does not tell."""
    fields = process_fields(process_id)
    if not fields:
        return None
    in_user, in_kernel = int(fields[11]), int(fields[12])
    return (in_user + in_kernel) / os.sysconf("SC_CLK_TCK")


def process_fields(process_id: int) -> list[str]:
    """What the system tells of a process, its state first; nothing where it tells nothing.

    Source: proc(5), ``stat`` from its third field on: before it comes the name, in brackets, which
    may hold anything.
    """
    try:
        text = Path(f"/proc/{process_id}/stat").read_text(encoding="utf-8", errors="replace")
    except OSError:
        return []
    return text.rpartition(")")[2].split()
