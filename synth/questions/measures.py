"""Measures of a layout (section 9), and the questions of a search in the order of measures."""

from __future__ import annotations

import difflib
from collections.abc import Callable, Iterable, Iterator
from dataclasses import fields, replace
from itertools import product

from synth.errors import InputError
from synth.layout import Layout
from synth.medium import Size
from synth.questions.box import BoxQuestion
from synth.simulator.verdict import Verdict
from synth.spec import Limits

MEASURES = ("volume", "floor", "length", "width", "height", "delay", "parts")

LIMITED = tuple(item.name for item in fields(Limits) if item.name in MEASURES)
"""Limits on a measure. The delay of a chain's links is the one that is on none: the verdict of a
layout says whether it keeps that."""


LINK = "link"
"""The delay of a chain's links, C of section 11. No box decides it, so boxes are not searched by
it: it is a limit that is made less, or that another measure is set against."""


def parse_measures(names: Iterable[str], *, link: bool = False) -> tuple[str, ...]:
    """The measures asked, in order, each once.

    Args:
        names: the names, or a text with commas between them.
        link: whether ``LINK`` is one of them.

    Raises:
        InputError: for a name that is not a measure, or if there is none.
    """
    known = (*MEASURES, LINK) if link else MEASURES
    if isinstance(names, str):
        # A text is letters one by one, which is hardly what was meant.
        names = names.split(",")
    found: list[str] = []
    for name in names:
        if name not in known:
            near = difflib.get_close_matches(name, known, n=1)
            hint = f"did you mean {near[0]}? " if near else ""
            raise InputError(f"no measure {name!r}", way_out=f"{hint}use one of {', '.join(known)}")
        if name not in found:
            found.append(name)
    if not found:
        raise InputError("no measure to minimise", way_out=f"use one of {', '.join(known)}")
    return tuple(found)


def measured(layout: Layout, delay: int | None, name: str) -> int | None:
    """A measure of a layout; ``delay`` is that of its verdict."""
    if name == "parts":
        return layout.part_count
    if name == "delay":
        return delay
    return BoxQuestion(layout.size, 0).measure(name)


def known_measures(layout: Layout, delay: int | None, names: Iterable[str]) -> dict[str, int]:
    """Measures of a layout by name, without the delay where that is not known."""
    found = ((name, measured(layout, delay, name)) for name in names)
    return {name: value for name, value in found if value is not None}


def measure_of(layout: Layout, verdict: Verdict, name: str) -> int | None:
    """A measure, ``LINK`` included, of a layout with its verdict."""
    return verdict.link_delay if name == LINK else measured(layout, verdict.delay, name)


def limit_on(name: str) -> str:
    """What the limit on a measure is called."""
    return "link_delay" if name == LINK else name


def within(value: Callable[[str], int | None], limits: Limits) -> bool:
    """Whether the value of every limited measure keeps its limit; ``value`` looks one up by name.

    An unknown value (None) does not keep a limit.
    """
    for item in fields(limits):
        most = getattr(limits, item.name)
        if most is None:
            continue
        own = value(item.name)
        if own is None or own > most:
            return False
    return True


def keeps(layout: Layout, delay: int | None, limits: Limits) -> bool:
    """Whether a layout whose verdict has that delay keeps limits (``LIMITED``)."""
    return within(lambda name: measured(layout, delay, name), replace(limits, link_delay=None))


def boxes(limits: Limits, *, exactly: bool = False) -> Iterator[Size]:
    """Every box within limits; all three sizes must be limited.

    Args:
        limits: upper bounds, including ``volume`` and ``floor``.
        exactly: give only the box of exactly the three sizes.
    """
    assert limits.length is not None
    assert limits.width is not None
    assert limits.height is not None
    sides = (limits.length, limits.width, limits.height)
    ranges = [range(side, side + 1) if exactly else range(1, side + 1) for side in sides]
    for length, width, height in product(*ranges):
        if limits.floor is not None and length * width > limits.floor:
            continue
        if limits.volume is not None and length * width * height > limits.volume:
            continue
        yield (length, width, height)


def in_order(candidates: Iterable[BoxQuestion], measures: tuple[str, ...]) -> list[BoxQuestion]:
    """Questions by the measures in order, then by a fixed order.

    Boxes with equal measures are ordered by floor, then height, then length, the least first, so
    that the same question always walks the same way.
    """
    deciding = [name for name in measures if name != "parts"]

    def key(candidate: BoxQuestion) -> tuple[int, ...]:
        rest = ("volume", "floor", "height", "length", "width")
        return (*(candidate.measure(name) for name in (*deciding, *rest)), candidate.delay)

    return sorted(candidates, key=key)
