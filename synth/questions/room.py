"""The limits of space of a question, and what is left of its limits without them."""

from __future__ import annotations

from dataclasses import replace

from synth.medium import AXES
from synth.spec import Limits, Spec

SIDES = ("length", "width", "height")
SPACE = (*SIDES, "floor", "volume")
"""The limits that say how large a box may be."""


def let_go(spec: Spec) -> tuple[str, ...]:
    """The limits that a layout beyond the limits may break: those of space that are asked.

    The side along which copies stack is kept: what asks for a pitch of 2 has no use for 3. Where
    cells are named, the box has exactly the size asked, and nothing is let go.
    """
    if spec.empty or spec.fixed:
        return ()
    stacked = None if spec.stack is None else SIDES[AXES.index(spec.stack.axis)]
    return tuple(
        name for name in SPACE if name != stacked and getattr(spec.limits, name) is not None
    )


def limits_beyond(spec: Spec) -> Limits:
    """The limits that a layout beyond the limits keeps: all but those that are let go."""
    return replace(spec.limits, **dict.fromkeys(let_go(spec)))
