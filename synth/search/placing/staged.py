"""Looks for layouts in two stages, where placing the whole at once is too much.

Cuts of the function (``synth.search.placing.stages``) are tried in order, the easiest to place
first. The first stage is placed in a box as short as possible, then the second to fit it: first in
the full height allowed, where placing is quickest, then in lower boxes as long as the whole gets
smaller. Like everything that places known signals, it proves nothing.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace

from synth.layout import Layout
from synth.questions.box import BoxQuestion
from synth.search.placing.stages import (
    Cut,
    can_be_cut,
    cuts,
    first_spec,
    has_seam,
    joined,
    second_spec,
)
from synth.search.placing.structure import Placer, StructureFirst
from synth.search.workers.judged import Found
from synth.spec import Limits, Spec

SHARES = (64_000, 256_000, 1_024_000)
"""The conflicts of one try in each round."""

MOST_CUTS = 4
"""The most cuts that are tried in a round."""

SEEDS = 3
"""How often a first stage is placed again if its crossing wires leave at the floor."""

LENGTH, WIDTH, HEIGHT = 8, 2, 7
"""Most length, width and height of a stage, in cells: narrow ones are placed soonest, and in longer
and higher ones there is more room than the signals of a stage need.
"""


@dataclass(frozen=True, slots=True)
class _Room:
    """A part of the space allowed; ``width`` and ``height`` are those of both stages."""

    width: int
    height: int
    share: int

    def boxes(self, longest: int, delay: int) -> list[BoxQuestion]:
        """Boxes of this width and height, short ones first."""
        lengths = range(1, min(longest, LENGTH) + 1)
        return [BoxQuestion((length, self.width, self.height), delay) for length in lengths]


@dataclass
class InStages(Placer):
    """Looks for layouts of two stages."""

    best: tuple[BoxQuestion, Found] | None = field(default=None, init=False)

    def run(self, shares: Sequence[int] = SHARES) -> tuple[BoxQuestion, Found] | None:
        """The layout of least volume that was found; None if there was none.

        Args:
            shares: the conflicts of one try in each round; a round that finds a layout is the last.
        """
        spec, limits = self.problem.spec, self.problem.limits
        if not can_be_cut(spec):
            return None
        assert limits.width is not None
        assert limits.height is not None
        assert limits.delay is not None
        chosen = cuts(spec.function, limits.delay, self.until)[:MOST_CUTS]
        for share in shares:
            for height in range(min(limits.height, HEIGHT), 1, -1):
                room = _Room(min(limits.width, WIDTH), height, share)
                for cut in chosen:
                    if self.is_over():
                        return self.best
                    self._try(cut, room, self._longest(limits, room), limits.delay)
            if self.best is not None:
                break
        return self.best

    def _longest(self, limits: Limits, room: _Room) -> int:
        """The length in cells up to which a layout in a room is better than the best so far."""
        assert limits.length is not None
        side = room.width * room.height
        longest = limits.length
        if limits.volume is not None:
            longest = min(longest, limits.volume // side)
        if limits.floor is not None:
            longest = min(longest, limits.floor // room.width)
        if self.best is not None:
            longest = min(longest, (self.best[0].measure("volume") - 1) // side)
        return longest

    def _try(self, cut: Cut, room: _Room, longest: int, delay: int) -> None:
        """Place both stages of a cut in a room, each as short as possible."""
        first = self._first_stage(cut, room, longest - 2)
        if first is None:
            return
        left = room.boxes(longest - 1 - first.size[0], cut.delays[1])
        second = self._place(second_spec(self.problem.spec, cut, first), left, room.share)
        if second is None:
            return
        whole = joined(self.problem.spec, cut, first, second)
        candidate = BoxQuestion(whole.size, delay)
        found = self.accept(candidate, whole)
        if found is not None:
            self.best = (candidate, found)

    def _first_stage(self, cut: Cut, room: _Room, longest: int) -> Layout | None:
        """A first stage whose crossing wires find support in the seam."""
        spec = first_spec(self.problem.spec, cut)
        for seed in range(SEEDS):
            found = self._place(spec, room.boxes(longest, cut.delays[0]), room.share, seed)
            if found is None or has_seam(found, cut):
                return found
        return None

    def _place(
        self, spec: Spec, boxes: Sequence[BoxQuestion], share: int, seed: int = 0
    ) -> Layout | None:
        """A stage in the first of some boxes in which it can be placed."""
        settings = replace(self.settings, seed=self.settings.seed + seed)
        problem = replace(self.problem, spec=spec)
        placing = StructureFirst(
            problem, settings, self.crew, self.until, self.reporter, look=self.look
        )
        found = placing.run(boxes, (share,))
        return None if found is None else found[1].layout
