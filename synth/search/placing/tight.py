"""Halves of a cut in the smallest boxes in which they could be placed.

An exclusive-or has 32 cells there, found or ruled out within a second; two of them and a seam are a
parity of three in 72, from which shrinking gets further, sooner, than from loose boxes. No further
output was ever added to one of them (of five), so they are no use for that.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Iterator
from itertools import count, product

from synth.layout import Layout
from synth.medium import Size
from synth.search.placing.halves import WAYS, Halves, cannot_be_placed, stages_of, together
from synth.search.placing.placer import Placer, Stage
from synth.search.placing.stages import Cut
from synth.search.placing.turns import counted, share_of_round

SHARE = 16_000
"""The conflicts of one try in a cheap round: four times what one in a loose box may take."""

EASY_HALF = 8
"""Halves with more connections are not placed here: that takes too long."""

ROOM = range(8, 14)
"""Cells of a box for each inverter of a half."""

SEEDS = 3
"""By how many seeds the half placed last is placed."""

Boxes = Callable[[Stage, Iterable[int]], Iterable[Size]]
"""The boxes of a stage with so many cells for each inverter."""


def tight(
    placer: Placer, cuts: Iterable[Cut], boxes: Boxes, seed: int, is_use: Callable[[Layout], bool]
) -> Iterator[Layout | None]:
    """A layout whenever one of use is found, and None after each question without one.

    Halves are placed again and again by other seeds, no larger ones than any that were of use.
    """
    pairs = pairs_of(cuts, boxes)
    smallest = math.inf
    for number in count(1):
        share = SHARE * share_of_round(number)
        first_seed = seed + number * SEEDS
        tried = False
        for volume, halves in pairs:
            if volume > smallest:
                break
            for way, other in product(WAYS, range(SEEDS)):
                if cannot_be_placed(placer, halves):
                    break
                tries = way(placer, halves, share, (first_seed, first_seed + other))
                found, asked = yield from counted(tries)
                tried = tried or asked > 0
                if found is not None and is_use(found):
                    smallest = min(volume, smallest)
                    yield found
        if not tried:
            return


def pairs_of(cuts: Iterable[Cut], boxes: Boxes) -> list[tuple[int, Halves]]:
    """Halves in tight boxes with their volume together, the smallest first."""
    found = []
    for cut in cuts:
        if max(cut.connections) > EASY_HALF:
            continue
        first, second = (boxes(stage, ROOM) for stage in stages_of(cut))
        found += [
            (math.prod(together(one, other)), Halves(cut, ((one,), (other,))))
            for one, other in product(first, second)
            if one[2] == other[2]
        ]
    return sorted(found, key=lambda pair: pair[0])
