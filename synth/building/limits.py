"""Limits of a circuit that is built: larger than those of a search."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, fields

from synth.composing.canvas import LONGEST
from synth.errors import InputError
from synth.layout import Layout
from synth.words import counted, unit_of

MOST_TICKS = 4096
"""Largest delay that may be asked, in ticks."""


@dataclass(frozen=True, slots=True)
class BuildLimits:
    """Upper bounds; None where there is none.

    ``length``, ``width``, ``height`` in cells along x, y, z; ``volume`` in cells; ``delay`` in
    ticks.

    Raises:
        InputError: if one is no number, or out of bounds.
    """

    length: int | None = None
    width: int | None = None
    height: int | None = None
    volume: int | None = None
    delay: int | None = None

    def __post_init__(self) -> None:
        for item in fields(self):
            value = getattr(self, item.name)
            if value is None:
                continue
            low = 0 if item.name == "delay" else 1
            most = {"delay": MOST_TICKS, "volume": LONGEST**3}.get(item.name, LONGEST)
            if isinstance(value, bool) or not isinstance(value, int) or not low <= value <= most:
                raise InputError(
                    f"a {item.name} of {value!r}",
                    place=f"limits.{item.name}",
                    way_out=f"use a whole number from {low} to {most}",
                )

    def broken(self, layout: Layout, delay: int | None) -> Iterator[tuple[str, int, int | None]]:
        """The limits that a layout does not keep: name, what is asked, its own value."""
        for item in fields(self):
            asked = getattr(self, item.name)
            own = delay if item.name == "delay" else getattr(layout, item.name)
            if asked is not None and (own is None or own > asked):
                yield item.name, asked, own

    def excess(self, layout: Layout, delay: int | None) -> float:
        """By how large a share of each they are broken, in all; 0 if they are kept."""
        return sum(
            1.0 if own is None else (own - asked) / max(asked, 1)
            for _, asked, own in self.broken(layout, delay)
        )

    def words(self) -> str:
        """The limits as claims and reasons name them; ``no limits`` where there are none."""
        found = [
            f"{item.name} at most {getattr(self, item.name)}"
            for item in fields(self)
            if getattr(self, item.name) is not None
        ]
        return ", ".join(found) if found else "no limits"


def broken_words(broken: tuple[str, int, int | None]) -> str:
    """A broken limit in words: ``length 43, at most 40 asked``."""
    name, asked, own = broken
    value = "is not known" if own is None else str(own)
    return f"{name} {value}, at most {counted(asked, unit_of(name))} asked"
