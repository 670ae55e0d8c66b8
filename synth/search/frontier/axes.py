"""The two measures of a frontier, and between which values the second one lies."""

from __future__ import annotations

from collections.abc import Iterable

from synth.errors import InputError
from synth.questions.measures import LINK, limit_on, parse_measures
from synth.spec import Limits

MANY = 1 << 30
"""More cells than any box has."""


def parse_axes(names: Iterable[str]) -> tuple[str, str]:
    """The two measures; the second may be ``link``.

    Raises:
        InputError: unless they are two different measures.
    """
    given = list(names)
    if given[1:] == [LINK]:
        return parse_measures(given[:1])[0], LINK
    axes = parse_measures(given)
    if len(given) != 2 or len(axes) != 2:
        raise InputError(
            f"the axes {', '.join(given)}: two different measures are needed",
            way_out="name two, such as floor,delay",
        )
    return axes[0], axes[1]


def least_value(measure: str) -> int:
    """The least value that a measure can have at all."""
    return 0 if measure in ("delay", "parts", LINK) else 1


def largest_value(limits: Limits, measure: str) -> int:
    """The largest value of a measure under limits that bound every side."""
    assert limits.length is not None
    assert limits.width is not None
    assert limits.height is not None
    floor = min(limits.length * limits.width, limits.floor or MANY)
    volume = min(floor * limits.height, limits.volume or MANY)
    own: int | None = getattr(limits, limit_on(measure))
    # Once all is known the delay is enough for links as well.
    late = MANY if limits.delay is None else limits.delay
    natural = {"floor": floor, "volume": volume, "parts": volume, LINK: late}.get(measure, MANY)
    return natural if own is None else min(natural, own)
