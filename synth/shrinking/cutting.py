"""Cuts and trades as drafts: of several seams drawn, the one that breaks least."""

from __future__ import annotations

import random
from dataclasses import replace

from synth.medium import Size
from synth.shrinking.aim import HUGE, Aim
from synth.shrinking.draft import Draft, cut, widened
from synth.shrinking.levels import LARGE
from synth.shrinking.meeting import meeting_anew
from synth.shrinking.seams import jogged, least, straight, wandering

WIDER = (1, 1, 2, 3)
"""How many slices a trade puts in to come nearer to a limit: one is drawn."""

DRAWN = 8
"""How many seams are drawn for each one that is asked about: the one that breaks least."""


def drawn_cut(
    whole: Draft,
    aim: Aim,
    generator: random.Random,
    axis: int,
    shape: str | None,
    most: int,
    *,
    trade: bool,
) -> Draft | None:
    """A draft with a better box: of several, the one in which least is broken.

    Args:
        whole: what is cut.
        aim: what must be kept.
        generator: the source of all random draws.
        axis: along which a seam is taken out: 0, 1, 2 for x, y, z.
        shape: of the seam: ``straight``, ``jogged`` or ``wandering``.
        most: cells that a window may free.
        trade: whether slices are put in along another axis first.

    Returns:
        None where more is broken than a window may free.
    """
    best: tuple[float, Draft] | None = None
    drawn = DRAWN if whole.volume <= LARGE else DRAWN // 3
    if whole.volume >= HUGE and shape == "wandering":
        drawn = 1  # It is the least already.
    for _ in range(drawn):
        wider = _widened(whole, aim, generator, axis) if trade else whole
        draft = None if wider is None else _one_cut(wider, aim, generator, axis, shape, trade=trade)
        if draft is None:
            continue
        hurt = len(draft.hurt | draft.fresh)
        cost = hurt * (0.6 + 0.8 * generator.random())
        if hurt <= most and (best is None or cost < best[0]):
            best = (cost, draft)
    return None if best is None else best[1]


def _widened(whole: Draft, aim: Aim, generator: random.Random, axis: int) -> Draft | None:
    """A draft with more slices along another axis, if its box is better once it is cut."""
    other = generator.choice([a for a in range(3) if a != axis])
    broken = axis in aim.broken_axes(whole.size)
    draft: Draft | None = whole
    for _ in range(generator.choice(WIDER) if broken else 1):
        assert draft is not None
        at = generator.randrange(draft.size[other] + 1)
        draft = widened(draft, other, at, aim)
        if draft is None or not _is_smaller(draft, aim, axis, whole.size):
            return None
    return draft


def _one_cut(
    draft: Draft, aim: Aim, generator: random.Random, axis: int, shape: str | None, *, trade: bool
) -> Draft | None:
    """A draft without a seam of that shape; ``trade`` says that it was widened before.

    Of a large one that was not, it is known which parts meet others than before.
    """
    if shape == "straight":
        seam = straight(draft, axis, generator.randrange(draft.size[axis]))
    elif shape == "jogged":
        seam = jogged(draft, axis, generator)
    elif draft.volume >= HUGE:
        seam = least(draft, axis, generator)
    else:
        seam = wandering(draft, axis, generator)
    found = cut(draft, axis, seam, aim)
    if found is not None and not trade and draft.volume >= HUGE:
        found = replace(found, hurt=found.hurt | meeting_anew(draft, found, axis, seam))
    return found


def _is_smaller(draft: Draft, aim: Aim, axis: int, size: Size) -> bool:
    """Whether the box of a draft, shorter along an axis, is better than one of that size."""
    new = [*draft.size]
    new[axis] -= 1
    return aim.box_score((new[0], new[1], new[2])) < aim.box_score(size)
