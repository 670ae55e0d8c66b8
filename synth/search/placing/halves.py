"""Both halves of a cut placed, one after the other, and joined."""

from __future__ import annotations

from dataclasses import dataclass

from synth.layout import Layout
from synth.medium import Size
from synth.search.placing.placer import Placer, Stage
from synth.search.placing.stages import Cut, first_spec, has_seam, joined, second_spec
from synth.search.placing.turns import Tries


@dataclass(frozen=True)
class Halves:
    """The halves of a cut, and the boxes in which they are placed, in order.

    Attributes:
        cut: the cut.
        boxes: of the first stage, and of the second.
    """

    cut: Cut
    boxes: tuple[tuple[Size, ...], tuple[Size, ...]]

    @property
    def stages(self) -> tuple[Stage, Stage]:
        """What is placed."""
        return stages_of(self.cut)


def stages_of(cut: Cut) -> tuple[Stage, Stage]:
    """The halves of a cut as stages."""
    return Stage(cut.first, cut.delays[0]), Stage(cut.second, cut.delays[1])


def cannot_be_placed(placer: Placer, halves: Halves) -> bool:
    """Whether it is known of one half that no box of it will do, wherever signals cross."""
    spec, cut = placer.problem.spec, halves.cut
    asked = (first_spec(spec, cut), second_spec(spec, cut))
    return any(
        all(placer.is_ruled_out(own, stage, size) for size in boxes)
        for own, stage, boxes in zip(asked, halves.stages, halves.boxes, strict=True)
    )


def together(first: Size, second: Size) -> Size:
    """The box of two stages with a seam between them."""
    return (first[0] + 1 + second[0], max(first[1], second[1]), max(first[2], second[2]))


def first_then_second(placer: Placer, halves: Halves, share: int, seeds: tuple[int, int]) -> Tries:
    """The first stage, then the second where the signals come that cross.

    Args:
        placer: places them.
        halves: the halves.
        share: the conflicts of each question.
        seeds: of the half placed first and of the other.
    """
    spec, cut = placer.problem.spec, halves.cut
    (early, late), (boxes, others) = halves.stages, halves.boxes

    def fits(layout: Layout) -> bool:
        return has_seam(layout, cut)

    first = yield from placer.placed(
        lambda _: first_spec(spec, cut), early, boxes, share, seeds[0], fits
    )
    if first is None:
        return None
    behind = [size for size in others if placer.has_room(together(first.size, size))]
    second = yield from placer.placed(
        lambda _: second_spec(spec, cut, first), late, behind, share, seeds[1]
    )
    return None if second is None else joined(spec, cut, first, second)


def second_then_first(placer: Placer, halves: Halves, share: int, seeds: tuple[int, int]) -> Tries:
    """The second stage, then the first so that the signals leave it where the second takes them.

    Arguments are those of ``first_then_second``.
    """
    spec, cut = placer.problem.spec, halves.cut
    (early, late), (others, boxes) = halves.stages, halves.boxes

    def fits(layout: Layout) -> bool:
        return has_seam(layout, cut)

    second = yield from placer.placed(
        lambda _: second_spec(spec, cut), late, boxes, share, seeds[0], fits
    )
    if second is None:
        return None
    before = [size for size in others if placer.has_room(together(size, second.size))]
    first = yield from placer.placed(
        lambda size: first_spec(spec, cut, second, size[0]), early, before, share, seeds[1]
    )
    return None if first is None else joined(spec, cut, first, second)


WAYS = (first_then_second, second_then_first)
"""The orders in which two halves may be placed."""
