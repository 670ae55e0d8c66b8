"""How large windows are and what they may cost; how the effort is shared among kinds of moves."""

from __future__ import annotations

from typing import NamedTuple

from synth.layout import Layout
from synth.medium import Size
from synth.shrinking.aim import HUGE
from synth.shrinking.memory import Choices


class Level(NamedTuple):
    """How large a window is, in free cells, and how many conflicts it may cost."""

    cells: int
    conflicts: int


LEVELS = (
    Level(24, 2_000),
    Level(32, 4_000),
    Level(40, 6_000),
    Level(48, 10_000),
    Level(56, 16_000),
    Level(64, 28_000),
    Level(72, 50_000),
)
"""The levels, from windows that are answered at once to the largest that one machine can hold."""

WIDE = (Level(96, 5_000), Level(128, 5_000))
"""Further levels for seams of huge layouts: a seam breaks here and there, each place for itself."""

EVERY_LEVEL = (*LEVELS, *WIDE)

QUICK = 5_000
"""Most conflicts of a level in a huge layout: there are many other places to look."""

QUICK_CUTS = 8
"""So many cuts come first in every new box: with labels, in windows of middle size, of few
conflicts. Where a layout can be cut at all this mostly shows in the first three. Of nine starts of
64 and 72 cells for parity of three, three had 56 after 0.5 to 1.3 s of processor time; in 3 s of
moves as they are drawn otherwise none had.
"""

QUICK_BOX = 100
"""Only in boxes of up to so many cells. In those of 110 to 150 of a full adder they gained nothing:
two seeds had 120 cells after 45 s of processor time with them and 108 without.
"""

QUICK_LEVELS = (1, 2, 3)
"""The levels of these."""

SHARES = {
    "cut": 0.5,
    "trade": 0.06,
    "refit": 0.12,
    "fewer": 0.16,
    "elsewhere": 0.28,
    "faster": 0.4,
}
"""The shares of the effort among those kinds that are possible for a layout and its aim."""

SHARES_BROKEN = SHARES | {"cut": 0.4, "trade": 0.2, "refit": 0.2}
"""The same for a layout that is larger than a limit along some axis: room elsewhere costs nothing.
"""

SHARES_SPARSE = SHARES | {"cut": 1.5}
"""The same for a huge layout in which little of the box holds anything: most cuts are still ahead.
"""

SPARSE = 0.35
"""Share of the box that holds parts, up to which a layout is sparse."""

LABELLED = 3
"""A window with labels may cost this many times the conflicts: they are decided more often."""

ASKED_WHOLE = 40
"""Up to this volume a better box may be asked for anything that works: the signals of a layout that
is a little larger need not be those of the smallest.
"""

WHOLE_SHARE = 0.5
"""The share of these among all boxes that are tried anew."""

WALKS = (0, 0, 1, 1, 2, 3)
"""The levels that the walk draws from: small steps do not lead far, and large ones cost much."""

WALKS_FREELY = 0.7
"""The share of the walk's steps asked plainly: labels keep the signals, and lead less far."""

LARGE = 150
"""From this volume on, in cells, windows are asked with promises as well."""

PRICES = (16_000, 10_000, 8_000, 12_000, 24_000, 60_000, 120_000, 30_000, 40_000)
"""After what effort a gain would be no surprise, by level: in between lies what mostly pays."""


def shares_of(layout: Layout, *, near_limits: bool) -> dict[str, float]:
    """The shares for a layout; ``near_limits``: it breaks limits on its sides and is small."""
    if near_limits:
        return SHARES_BROKEN
    sparse = layout.volume >= HUGE and layout.part_count <= SPARSE * layout.volume
    return SHARES_SPARSE if sparse else SHARES


def choices_of(size: Size) -> dict[str, Choices]:
    """What there is to choose, with the effort to expect until something is gained.

    A short axis costs more: it has few places to cut at, and every cut takes a large part.
    """
    longest = max(size)
    return {
        "axis": Choices({axis: 4_000 * longest**2 // cells**2 for axis, cells in enumerate(size)}),
        "shape": Choices({"straight": 6_000, "jogged": 8_000, "wandering": 4_000}),
        "level": Choices(dict(enumerate(PRICES))),
        "buffers": Choices({True: 8_000, False: 4_000}),
        "asked": Choices({"plain": 12_000, "labels": 3_000, "promises": 8_000}),
    }
