"""Looking for layouts in two stages, where placing the whole at once is too much.

Cuts of the function (``synth.search.stages``) are tried in order, the easiest to place first. The
first stage is placed in as short a box as can be, then the second to fit it: in the full height
allowed, where that is soonest done, then in lower ones as long as the whole gets smaller. Like all
of structure first it proves nothing.
"""

from __future__ import annotations

import time
from collections.abc import Iterator, Sequence
from dataclasses import replace

from synth.layout import Layout
from synth.search.crew import Crew
from synth.search.events import Reporter, Silent
from synth.search.measures import Candidate
from synth.search.stages import (
    Cut,
    can_be_cut,
    cuts,
    first_spec,
    has_seam,
    joined,
    second_spec,
)
from synth.search.structure import Keep, StructureFirst
from synth.search.tidy import tidy
from synth.search.walk import Found, Settings
from synth.spec import Limits, Spec

SHARES = (64_000, 256_000, 1_024_000)
"""Conflicts of a try, round by round."""

MOST_CUTS = 4
"""Most cuts that are tried in a round."""

SEEDS = 3
"""How often a first stage is placed anew if its crossing wires leave at the floor."""

WIDTH = 2
"""Width of the stages, in cells, where the limits allow more: narrow ones are placed soonest."""


class InStages:
    """Looks for layouts of two stages.

    Args:
        spec: what is asked; length, width, height and delay must be limited.
        settings, crew, until, reporter, keep: as for ``StructureFirst``.
    """

    def __init__(
        self,
        spec: Spec,
        settings: Settings,
        crew: Crew,
        until: float | None = None,
        reporter: Reporter | None = None,
        keep: Keep | None = None,
    ) -> None:
        self.spec = spec
        self.settings = settings
        self.crew = crew
        self.until = until
        self.reporter = reporter or Silent()
        self.keep = keep
        self.best: tuple[Candidate, Found] | None = None

    def run(self, limits: Limits, shares: Sequence[int] = SHARES) -> tuple[Candidate, Found] | None:
        """The layout of least volume found; None if none was.

        Args:
            limits: the limits, none of length, width, height and delay left open.
            shares: conflicts of a try, round by round; the first round that finds is the last.
        """
        if not can_be_cut(self.spec):
            return None
        assert limits.delay is not None
        assert limits.height is not None
        chosen = cuts(self.spec.function, limits.delay, self.until)[:MOST_CUTS]
        for share in shares:
            for height in range(limits.height, 1, -1):
                for cut in chosen:
                    if self._is_over():
                        return self.best
                    self._try(cut, limits, height, share)
            if self.best is not None:
                break
        return self.best

    def _is_over(self) -> bool:
        return self.until is not None and time.monotonic() >= self.until

    def _try(self, cut: Cut, limits: Limits, height: int, share: int) -> None:
        """Place both stages of a cut within a height, each as short as can be."""
        assert limits.length is not None
        room = self._longest(limits, height)
        if room < 3:
            return
        for first in self._first_stages(cut, limits, height, room - 2, share):
            left = room - 1 - first.size[0]
            spec = second_spec(self.spec, cut, first)
            second = self._place(spec, limits, height, left, share, cut.delays[1], 0)
            if second is not None:
                self._keep(joined(self.spec, cut, first, second), limits)
                return

    def _longest(self, limits: Limits, height: int) -> int:
        """The longest layout of a height that would be better than the best so far, in cells."""
        assert limits.length is not None
        floor = self._width(limits) * height
        longest = limits.length
        if limits.volume is not None:
            longest = min(longest, limits.volume // floor)
        if limits.floor is not None:
            longest = min(longest, limits.floor // self._width(limits))
        if self.best is not None:
            longest = min(longest, (self.best[0].measure("volume") - 1) // floor)
        return longest

    def _width(self, limits: Limits) -> int:
        assert limits.width is not None
        return min(limits.width, WIDTH)

    def _first_stages(
        self, cut: Cut, limits: Limits, height: int, longest: int, share: int
    ) -> Iterator[Layout]:
        """First stages whose crossing wires can rest in the seam; seldom more than one."""
        spec = first_spec(self.spec, cut)
        for seed in range(SEEDS):
            found = self._place(spec, limits, height, longest, share, cut.delays[0], seed)
            if found is None:
                return
            if has_seam(found, cut):
                yield found
                return

    def _place(
        self,
        spec: Spec,
        limits: Limits,
        height: int,
        longest: int,
        share: int,
        delay: int,
        seed: int,
    ) -> Layout | None:
        width = self._width(limits)
        candidates = [Candidate((length, width, height), delay) for length in range(1, longest + 1)]
        settings = replace(self.settings, seed=self.settings.seed + seed)
        placing = StructureFirst(spec, settings, self.crew, self.until, self.reporter)
        found = placing.run(candidates, (share,))
        return None if found is None else found[1].layout

    def _keep(self, layout: Layout, limits: Limits) -> None:
        """Keep a layout if the simulator passes it; the halves being right is not enough."""
        assert limits.delay is not None
        settings = self.settings
        tidied, verdict = tidy(
            layout, self.spec, delay=limits.delay, prefer=settings.prefer, rules=settings.rules
        )
        within = limits.parts is None or tidied.part_count <= limits.parts
        if verdict.passes and within:
            self.best = (Candidate(tidied.size, limits.delay), Found(tidied, verdict))
            if self.keep is not None:
                self.keep(*self.best)
