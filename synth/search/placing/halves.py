"""Both halves of a cut placed, one after the other, and joined."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from synth.layout import Layout
from synth.medium import Size
from synth.search.placing.placer import Placer, Stage
from synth.search.placing.stages import Cut, crossings, first_spec, has_seam, joined, second_spec
from synth.search.placing.turns import Tries
from synth.spec import Spec


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
    """The box of two stages, in either order, with a seam between them."""
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
    first = yield from _half(
        placer, halves, 0, share, seeds[0], lambda _: first_spec(spec, cut), None
    )
    if first is None:
        return None
    places = crossings(first, cut)
    second = yield from _half(
        placer, halves, 1, share, seeds[1], lambda _: second_spec(spec, cut, places), first
    )
    return None if second is None else joined(spec, cut, first, second)


def second_then_first(placer: Placer, halves: Halves, share: int, seeds: tuple[int, int]) -> Tries:
    """The second stage, then the first so that the signals leave it where the second takes them.

    Arguments are those of ``first_then_second``.
    """
    spec, cut = placer.problem.spec, halves.cut
    second = yield from _half(
        placer, halves, 1, share, seeds[0], lambda _: second_spec(spec, cut), None
    )
    if second is None:
        return None
    places = crossings(second, cut)
    first = yield from _half(
        placer,
        halves,
        0,
        share,
        seeds[1],
        lambda size: first_spec(spec, cut, places, size[0]),
        second,
    )
    return None if first is None else joined(spec, cut, first, second)


def _half(
    placer: Placer,
    halves: Halves,
    number: int,
    share: int,
    seed: int,
    spec_for: Callable[[Size], Spec],
    other: Layout | None,
) -> Tries:
    """One half.

    The half placed first has to leave room for a seam; the other one takes a box that is of use
    together with what stands.

    Args:
        placer: places it.
        halves: the halves.
        number: 0 is the first stage, 1 the second.
        share: the conflicts of each question.
        seed: of the solver's order.
        spec_for: what is asked of it in a box.
        other: the half that stands already, or None.
    """
    boxes = halves.boxes[number]
    if other is not None:
        boxes = tuple(size for size in boxes if placer.has_room(together(other.size, size)))

    def fits(layout: Layout) -> bool:
        return other is not None or has_seam(layout, halves.cut)

    return placer.placed(spec_for, halves.stages[number], boxes, share, seed, fits)


WAYS = (first_then_second, second_then_first)
"""The orders in which two halves may be placed."""
