"""What to try next: kinds of moves, and the size and price of their windows.

``cut`` takes a seam out. ``trade`` puts a slice in along one axis and takes a seam out along
another, so that the box is better all the same. ``fewer`` asks for fewer parts in the same box,
``elsewhere`` for as many that are not the same: a random walk, after which other cuts may succeed.
``refit`` puts all the signals of a small layout into another box, anew, or asks for whatever works
there. ``faster`` asks for a tick less. A new box begins with a few cuts that cost little. How a
move is made (along which axis, with how large a window, with new buffers or not, how it is asked)
is drawn by what that has gained for its effort so far.
"""

from __future__ import annotations

import math
import random
from collections import Counter
from collections.abc import Hashable, Sequence
from dataclasses import dataclass, field, replace
from itertools import product
from typing import NamedTuple

from synth.encoding.windows import Window
from synth.layout import Layout
from synth.medium import Block, Cell, Size
from synth.shrinking.aim import HUGE, Aim, Judged, Pinning
from synth.shrinking.asking import Asking
from synth.shrinking.cutting import drawn_cut
from synth.shrinking.draft import Draft, emptied
from synth.shrinking.known import Known
from synth.shrinking.levels import (
    ASKED_WHOLE,
    EVERY_LEVEL,
    LABELLED,
    LARGE,
    LEVELS,
    QUICK,
    QUICK_BOX,
    QUICK_CUTS,
    QUICK_LEVELS,
    WALKS,
    WALKS_FREELY,
    WHOLE_SHARE,
    choices_of,
    shares_of,
)
from synth.shrinking.memory import Choices, Memory
from synth.shrinking.picking import around, cells_of, nearest, window_of

TOWARDS_LIMITS = 0.5
"""How many cuts of a layout that breaks limits go along an axis that is too long."""

MOST_BOXES = 24
"""Boxes among which one is drawn to put all signals into anew."""

ATTEMPTS = 12
"""How often a window is drawn, at most, until one is new."""

ALIKE = 2
"""Windows count as the same if everything up to this many cells around them is equal."""

MANY_ROWS, PLAYED_ROWS = 32, 24
"""Functions of more rows have so many of them played in a window, others for each layout; the
simulator plays them all.
"""

ASKED = ("plain", "labels", "promises")
"""How a window is asked: for anything that works; for the present signals, placed anew; or, in
large layouts, with the promises of what is around it.
"""


class Way(NamedTuple):
    """How a move is made: one choice of each sort, or None if there is nothing to choose."""

    axis: int | None
    shape: str | None
    level: int
    buffers: bool
    asked: str


@dataclass(frozen=True)
class Try:
    """A move to be asked about.

    Attributes:
        kind: ``cut``, ``trade``, ``refit``, ``fewer``, ``elsewhere`` or ``faster``.
        way: how it is made.
        base: the layout it starts from.
        asking: the question.
        key: identifies the window among others.
    """

    kind: str
    way: Way
    base: Judged
    asking: Asking
    key: str


@dataclass
class Moves:
    """Draws moves; the same ones for the same seed and answers.

    Attributes:
        aim: what must be kept.
        memory: of windows.
        generator: the source of all random draws.
        solver: the solver that windows are given to.
        size: the box at the start.
        effort: the effort spent, by kind.
        learnt: what each choice has gained, by kind and sort.
    """

    aim: Aim
    memory: Memory
    generator: random.Random
    solver: str
    size: Size
    effort: Counter[str] = field(default_factory=Counter)
    learnt: dict[str, dict[str, Choices]] = field(default_factory=dict)
    _of_base: Known | None = None
    _swept: tuple[Size, int] | None = None
    _of_box: tuple[Size, list[Size]] | None = None

    def draw(self, base: Judged) -> Try | None:
        """The next move from a layout; None if none that is new was found."""
        found = self._quick_cut(base)
        if found is not None:
            return found
        shares = shares_of(base.layout, near_limits=self._is_near_limits(base.layout))
        for kind in sorted(self.kinds(base), key=lambda kind: self._behind(kind, shares)):
            for _ in range(ATTEMPTS):
                found = self._drawn(kind, base)
                if found is None:
                    continue
                if not self.memory.knows(found.key, found.asking.conflicts):
                    return found
            # Nothing new: as if it had been tried, so that others get their turn.
            self.effort[kind] += LEVELS[0].conflicts
        return None

    def _quick_cut(self, base: Judged) -> Try | None:
        """One of the first cuts of a box (``QUICK_CUTS``), or None."""
        layout = base.layout
        if layout.volume > QUICK_BOX or not self.aim.may_resize or self._is_near_limits(layout):
            return None
        if self._swept is None or self._swept[0] != layout.size:
            self._swept = (layout.size, 0)
        size, cuts = self._swept
        if cuts >= QUICK_CUTS:
            return None
        self._swept = (size, cuts + 1)
        for _ in range(ATTEMPTS):
            found = self._drawn("cut", base, quick=True)
            if found is not None and not self.memory.knows(found.key, found.asking.conflicts):
                return found
        return None

    def note(self, move: Try, answer: str, gained: bool, effort: int) -> None:
        """Learn from the result of a move."""
        self.memory.note(move.key, answer, move.asking.conflicts)
        self.effort[move.kind] += effort
        for sort, choice in move.way._asdict().items():
            if choice is not None:
                self._learnt(move.kind)[sort].note(choice, gained, effort)
        if gained and move.kind in ("cut", "trade", "refit", "faster"):
            for choices in self._learnt(move.kind).values():
                choices.fade()

    def kinds(self, base: Judged) -> list[str]:
        """The kinds of moves that may help."""
        kinds = ["fewer", "elsewhere"]
        if self.aim.may_resize:
            kinds += ["cut", "trade"]
            if self._boxes(base):
                kinds.append("refit")
        late = (base.verdict.delay or 0) > self.aim.delay
        if late or ("delay" in self.aim.measures and base.verdict.delay):
            kinds.append("faster")
        return kinds

    def _is_near_limits(self, layout: Layout) -> bool:
        """Whether a layout breaks limits on its sides and is small: a large one is cut anywhere."""
        return layout.volume <= LARGE and bool(self.aim.broken_axes(layout.size))

    def _behind(self, kind: str, shares: dict[str, float]) -> tuple[float, str]:
        return (self.effort[kind] / shares[kind], kind)

    def _learnt(self, kind: str) -> dict[str, Choices]:
        if kind not in self.learnt:
            self.learnt[kind] = choices_of(self.size)
        return self.learnt[kind]

    def _choice(self, kind: str, sort: str, among: Sequence[Hashable] | None = None) -> Hashable:
        return self._learnt(kind)[sort].draw(self.generator, among)

    def _level(self, kind: str, volume: int) -> int:
        if kind == "elsewhere":
            return self.generator.choice(WALKS)
        wide = volume >= HUGE and kind in ("cut", "trade")
        level = self._choice(kind, "level", range(len(EVERY_LEVEL if wide else LEVELS)))
        assert isinstance(level, int)
        return level

    def _asked(self, kind: str, volume: int) -> str:
        """How a window is asked: one of ``ASKED``."""
        large = volume > LARGE
        if kind == "faster":
            return "plain"
        if volume >= HUGE:
            return "labels"
        if kind == "refit":
            whole = volume <= ASKED_WHOLE and self.generator.random() < WHOLE_SHARE
            return "plain" if whole else "labels"
        if kind == "elsewhere" and not large:
            return "plain" if self.generator.random() < WALKS_FREELY else "labels"
        return str(self._choice(kind, "asked", ASKED if large else ASKED[:2]))

    def _drawn(self, kind: str, base: Judged, *, quick: bool = False) -> Try | None:
        whole = Draft.of(base.layout)
        axis = shape = None
        if kind in ("cut", "trade"):
            axes = [axis for axis in range(3) if whole.size[axis] > 1]
            broken = self.aim.broken_axes(whole.size)
            towards = kind == "trade" or self.generator.random() < TOWARDS_LIMITS
            if towards and self._is_near_limits(base.layout):
                axes = broken
            if not axes:
                return None
            axis = self._choice(kind, "axis", axes)
            shape = self._choice(kind, "shape")
        way = Way(
            axis=axis,  # type: ignore[arg-type]
            shape=shape,  # type: ignore[arg-type]
            level=self.generator.choice(QUICK_LEVELS) if quick else self._level(kind, whole.volume),
            buffers=quick or bool(self._choice(kind, "buffers")),
            asked="labels" if quick else self._asked(kind, whole.volume),
        )
        made = self._made(kind, way, base, whole)
        if made is None:
            return None
        draft, window = made
        held = {cell: draft.cells[cell] for cell in window.free if cell in draft.cells}
        if not way.buffers:
            window = replace(window, buffers=False, before=held)
        anywhere = kind == "elsewhere" and self.generator.random() < 0.5
        before: dict[Cell, Block] | None = None if anywhere else held
        seed = self.generator.randrange(1 << 30)
        conflicts = EVERY_LEVEL[way.level].conflicts
        if whole.volume >= HUGE:
            conflicts = min(conflicts, QUICK)
        if quick:
            conflicts = min(conflicts, QUICK)
        elif way.asked == "labels" or kind == "refit":
            conflicts *= LABELLED
        asking = Asking(window, conflicts, seed, before, self.solver, self.aim.own_judge)
        return Try(kind, way, base, asking, window.near_key(ALIKE))

    def _made(self, kind: str, way: Way, base: Judged, whole: Draft) -> tuple[Draft, Window] | None:
        """The draft and window of a move made in a way."""
        known = self._known(base)
        promises = known.promises if way.asked == "promises" else None
        labels = known.labels if way.asked == "labels" else None
        cells = EVERY_LEVEL[way.level].cells
        if kind == "refit":
            return self._refit(way, base, whole)
        if kind in ("cut", "trade"):
            assert way.axis is not None
            draft = drawn_cut(
                whole, self.aim, self.generator, way.axis, way.shape, cells, trade=kind == "trade"
            )
            if draft is None:
                return None
            free = nearest(draft, draft.hurt | draft.fresh, cells, self.aim)
            return draft, window_of(
                draft,
                free,
                self.aim,
                delay=self.aim.ticks(base),
                promises=promises,
                labels=labels,
                rows=known.rows,
            )
        free = around(whole, cells, self.aim, self.generator)
        held = sum(cell in free for cell in whole.cells)
        if held == 0:
            return None
        if kind == "faster":
            assert base.verdict.delay is not None
            return whole, window_of(
                whole, free, self.aim, delay=base.verdict.delay - 1, rows=known.rows
            )
        return whole, window_of(
            whole,
            free,
            self.aim,
            delay=self.aim.ticks(base),
            parts=held - 1 if kind == "fewer" else held,
            elsewhere=kind == "elsewhere",
            promises=promises,
            labels=labels,
            rows=known.rows,
        )

    def _boxes(self, base: Judged) -> list[Size]:
        """The boxes that the signals of a layout are put into anew: better ones, not too small."""
        if self._of_box is None or self._of_box[0] != base.layout.size:
            self._of_box = (base.layout.size, self._better_boxes(base.layout))
        return self._of_box[1]

    def _better_boxes(self, layout: Layout) -> list[Size]:
        if self.aim.pinning is Pinning.FIXED or self.aim.held:
            return []
        score, most = self.aim.box_score(layout.size), LEVELS[-1].cells
        if layout.part_count > most:
            return []
        broken = self.aim.broken_axes(layout.size)
        least = min(layout.volume if broken else layout.part_count, most * 2 // 3)
        sides = range(1, max(layout.size) + 3)
        found: list[Size] = [
            (x, y, z)
            for x, y, z in product(sides, sides, sides)
            if least <= x * y * z <= most and self.aim.box_score((x, y, z)) < score
        ]
        if broken:
            # Room elsewhere costs nothing: those that break limits least, the roundest first.
            found.sort(key=lambda size: (self.aim.box_score(size)[0], max(size), size))
            return found[:MOST_BOXES]
        # The largest of them: the smallest hardly ever hold as much.
        found.sort(key=lambda size: (self.aim.box_score(size), -max(size), size))
        return found[-MOST_BOXES:]

    def _refit(self, way: Way, base: Judged, whole: Draft) -> tuple[Draft, Window] | None:
        """All signals of a layout placed and routed anew in a better box."""
        fitting = [size for size in self._boxes(base) if math.prod(size) <= LEVELS[way.level].cells]
        if not fitting:
            return None
        draft = emptied(whole, self.generator.choice(fitting), self.aim)
        if draft is None:
            return None
        known = self._known(base)
        free = frozenset(cells_of(draft.size))
        ticks = self.aim.ticks(base)
        labels = known.labels if way.asked == "labels" else None
        return draft, window_of(draft, free, self.aim, delay=ticks, labels=labels, rows=known.rows)

    def _known(self, base: Judged) -> Known:
        """What is worked out once for all windows of a layout."""
        if self._of_base is None or self._of_base.base is not base:
            every = self.aim.spec.function.rows
            rows = None
            if every > MANY_ROWS:
                rows = tuple(sorted(self.generator.sample(range(every), PLAYED_ROWS)))
            self._of_base = Known(base, self.aim, rows)
        return self._of_base
