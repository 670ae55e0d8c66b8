"""Gates of a store, to be opened at the desk."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from synth.layout import Layout

MOST_LISTED = 500
"""Most gates that are listed."""


def gates_of(store: Path) -> list[dict[str, Any]]:
    """The gates of a store that have a layout: number and title.

    Raises:
        InputError: if it cannot be read.
    """
    from synth.library import Store

    listed = []
    with Store.for_reading(store) as opened:
        for entry in opened.entries():
            if entry.volume is None:
                continue
            size = f"{entry.length} x {entry.width} x {entry.height}"
            within = "" if entry.delay is None else f", delay {entry.delay}"
            stack = f", stacks along {entry.stack}" if entry.stack else ""
            named = f"{entry.name}: " if entry.name else ""
            title = f"{named}{entry.function} ({size}{within}{stack})"
            listed.append({"number": entry.number, "title": title})
            if len(listed) >= MOST_LISTED:
                break
    return listed


def gate_of(store: Path, number: int) -> Layout:
    """The layout of a gate.

    Raises:
        InputError: if there is none of that number.
    """
    from synth.library import Store

    with Store.for_reading(store) as opened:
        return opened.layout(number)
