"""Names of pins for the signals of a circuit: identifiers or bits of buses, each once."""

from __future__ import annotations

import re
from collections.abc import Iterable

from synth.fields import NAME_PATTERN


def pin_names(signals: Iterable[str]) -> dict[str, str]:
    """A name for each signal: its own where a pin may be called so, else as near as can be.

    ``a[3]`` stays; ``x.y`` becomes ``x_y``, and where that is taken, ``x_y_``.
    """
    listed = list(signals)
    taken = {name for name in listed if NAME_PATTERN.fullmatch(name)}
    names = {}
    for signal in listed:
        name = signal
        if signal not in taken:
            name = re.sub(r"[^A-Za-z0-9_$]+", "_", signal).rstrip("_") or "_"
            name = name if NAME_PATTERN.fullmatch(name) else f"_{name}"
            while name in taken:
                name += "_"
            taken.add(name)
        names[signal] = name
    return names
