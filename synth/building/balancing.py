"""Delays balanced: every output waits for the last one, behind buffers before its pin.

A buffer of ``k`` ticks is known ``2 * k - 1`` ticks after what it sees (section 5), so a row of the
fastest ones adds as much for each. They stand where nothing reads the row any more, so that no
other output waits as well.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping

from synth.circuits.ticks import Ticks
from synth.layout import Layout
from synth.words import listed

_MOST_ROUNDS = 6
"""Rounds after which balancing is given up: a longer row needs buffers of its own, but few."""


def balanced(
    paint: Callable[[Mapping[str, int]], Layout],
    ticks_of: Callable[[Layout], Mapping[str, Ticks] | None],
    step: int,
) -> Layout:
    """A layout whose outputs settle at one tick, as far as that can be reached.

    Args:
        paint: gives the layout with so many buffers before the pin of each output.
        ticks_of: when its outputs settle; None if the layout is wrong.
        step: the ticks that each buffer adds.
    """
    pads: dict[str, int] = {}
    layout = paint(pads)
    for _ in range(_MOST_ROUNDS):
        found = ticks_of(layout)
        if not found:
            break
        last = max(ticks.most for ticks in found.values())
        missing = {name: (last - ticks.most) // step for name, ticks in found.items()}
        if not any(missing.values()):
            break
        pads = {name: pads.get(name, 0) + count for name, count in missing.items()}
        layout = paint(pads)
    return layout


def is_balanced(found: Mapping[str, Ticks]) -> bool:
    """Whether all outputs are known to settle at the same tick."""
    return len({(ticks.least, ticks.most) for ticks in found.values()}) <= 1 and all(
        ticks.exact for ticks in found.values()
    )


def unbalanced_words(found: Mapping[str, Ticks]) -> str:
    """Why outputs are not balanced, or not known to be."""
    told = listed([f"{name} at tick {ticks.words()}" for name, ticks in found.items()])
    if all(ticks.exact for ticks in found.values()):
        return f"the outputs are not balanced: they settle {told}"
    return f"it is not known that the outputs are balanced: they settle {told}"
