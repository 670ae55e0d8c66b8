"""What shrinking aims at, and what must stay true: the only place that judges layouts."""

from __future__ import annotations

import math
from dataclasses import dataclass
from enum import Enum
from functools import cached_property

from synth.encoding.geometry import Slot
from synth.layout import Layout, Pin
from synth.medium import AXES, DEFAULT_RULES, Cell, Rules, Size
from synth.questions.box import BoxQuestion
from synth.questions.measures import LIMITED, LINK, measure_of
from synth.simulator import passing
from synth.simulator.verdict import Verdict
from synth.spec import Limits, Spec

TIE_BREAKERS = ("volume", "parts")
"""Measures that break ties between layouts with equal measures asked."""

ROOMY = 64
"""Volume left within the limits below which a box that breaks them gets no better by being smaller:
what has to move needs room.
"""

HUGE = 300
"""Volume, in cells, from which on there is only time to look where something is likely: windows are
asked with labels and no other way, and slices are tried only where little breaks.
"""

NO_LIMITS = Limits()

Score = tuple[int, ...]
"""By how much limits are broken, the measures asked, in order, the tie breakers; less is better."""


class Pinning(Enum):
    """Where pins may go.

    ``fixed``: each keeps its face and its coordinates on that face (the face itself moves with the
    box). ``face``: anywhere on its own face. ``free``: wherever the specification allows it.
    """

    FIXED = "fixed"
    FACE = "face"
    FREE = "free"

    def __str__(self) -> str:
        return self.value


@dataclass(frozen=True)
class Judged:
    """A layout that is right, with the simulator's verdict and its score."""

    layout: Layout
    verdict: Verdict
    score: Score

    @property
    def keeps_limits(self) -> bool:
        """Whether it keeps every limit that is asked."""
        return self.score[0] == 0


@dataclass(frozen=True)
class Aim:
    """What every layout along the way must keep, and what is to become less.

    A start may break limits on measures, and its delay may be above the one asked. Then these come
    first: nothing is better than to break them by less.

    Attributes:
        spec: function, joints, stacking, ground and cells asked; its limits are left out, unless
            cells are asked: those hold the box to its size.
        delay: the delay asked, in ticks.
        measures: what is to become less, the first counts most.
        pinning: where pins may go.
        pins: the pins as they were at the start.
        limits: the limits on measures, delay left aside.
        slowest: the delay of the start, where that is more than is asked.
        rules: the rule table.
    """

    spec: Spec
    delay: int
    measures: tuple[str, ...]
    pinning: Pinning
    pins: tuple[Pin, ...]
    limits: Limits = NO_LIMITS
    slowest: int = 0
    rules: Rules = DEFAULT_RULES

    def judge(self, layout: Layout) -> Judged | None:
        """The layout with its verdict and score if it is right, else None."""
        if not all(self.admits(pin, layout.size) for pin in layout.pins):
            return None
        verdict = passing(layout, self.spec, delay=self.delay, rules=self.rules)
        if verdict is None and self.slowest > self.delay:
            verdict = passing(layout, self.spec, delay=self.slowest, rules=self.rules)
            if verdict is not None and (verdict.delay or 0) <= self.delay:
                return None  # Some copy of a stack is slower than one alone: rare, and no help.
        if verdict is None:
            return None
        return Judged(layout, verdict, self.score(layout, verdict))

    def score(self, layout: Layout, verdict: Verdict) -> Score:
        """By how much limits are broken, the measures of a layout, then the tie breakers."""
        values = (measure_of(layout, verdict, name) for name in self.compared)
        late = 0 if verdict.delay is None else max(0, verdict.delay - self.delay)
        broken = self.excess(layout.size, layout.part_count)
        if broken:
            return (late + broken, self.room(layout.size), layout.part_count)
        return (late, *(10**9 if value is None else value for value in values))

    def excess(self, size: Size, parts: int) -> int:
        """By how much a box and its parts are beyond the limits, in cells and parts."""
        box = BoxQuestion(size, 0)
        found = 0
        for name in LIMITED:
            asked = getattr(self.limits, name)
            if asked is not None and name != "delay":
                own = parts if name == "parts" else box.measure(name)
                found += max(0, own - asked)
        return found

    def room(self, size: Size) -> int:
        """What a box that breaks limits has within them, in cells; ``ROOMY`` if that is less."""
        sides = (self.limits.length, self.limits.width, self.limits.height)
        within = (
            own if asked is None else min(own, asked)
            for own, asked in zip(size, sides, strict=True)
        )
        return max(ROOMY, math.prod(within))

    def broken_axes(self, size: Size) -> list[int]:
        """The axes along which a box is larger than is asked."""
        sides = (self.limits.length, self.limits.width, self.limits.height)
        return [
            axis
            for axis, (own, asked) in enumerate(zip(size, sides, strict=True))
            if asked is not None and own > asked
        ]

    def box_score(self, size: Size) -> tuple[int, ...]:
        """Those of the compared measures that the box decides."""
        broken = self.excess(size, 0)
        if broken:
            return (broken, self.room(size))
        box = BoxQuestion(size, 0)
        names = (name for name in self.compared if name not in ("delay", "parts", LINK))
        return (0, *(box.measure(name) for name in names))

    def ticks(self, judged: Judged) -> int:
        """The delay to keep to in a window of a layout: the one asked, or its own if more."""
        return max(self.delay, judged.verdict.delay or 0)

    @property
    def own_judge(self) -> Aim | None:
        """Itself where the specification of its windows does not say all that is wanted."""
        return None

    @cached_property
    def compared(self) -> tuple[str, ...]:
        """The measures asked and the tie breakers."""
        return (*self.measures, *(name for name in TIE_BREAKERS if name not in self.measures))

    @cached_property
    def _starts(self) -> dict[str, Pin]:
        return {pin.name: pin for pin in self.pins}

    @cached_property
    def held(self) -> frozenset[Cell]:
        """Cells that the specification keeps empty or fixes."""
        return self.spec.empty | frozenset(self.spec.fixed)

    @property
    def may_resize(self) -> bool:
        """Whether the box may change: cells that are asked for hold it to its size."""
        return not self.held

    def admits(self, pin: Pin, size: Size) -> bool:
        """Whether a pin may sit where it does."""
        return self.admits_slot(pin.name, Slot(pin.at, pin.face), size)

    def admits_slot(self, name: str, slot: Slot, size: Size) -> bool:
        """Whether a pin may sit at a slot of a box of that size."""
        ask, start = self.spec.pins[name], self._starts[name]
        if slot.face not in self.spec.faces(name) or ask.at not in (None, slot.cell):
            return False
        if self.pinning is Pinning.FREE:
            return True
        if slot.face is not start.face:
            return False
        if self.pinning is Pinning.FACE:
            return True
        across = [index for index, axis in enumerate(AXES) if axis != start.face.axis]
        return all(slot.cell[index] == start.at[index] for index in across)
