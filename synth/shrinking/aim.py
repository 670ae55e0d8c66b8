"""What a layout is shrunk towards, and what it must stay: the one place that judges."""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum
from functools import cached_property

from synth.encoding.geometry import Slot
from synth.layout import Layout, Pin
from synth.medium import AXES, DEFAULT_RULES, Cell, Rules, Size
from synth.questions.measures import measured
from synth.simulator import check
from synth.simulator.verdict import Verdict
from synth.spec import Spec

TIE_BREAKERS = ("volume", "parts")
"""Measures by which layouts are told apart that are alike in all that is asked."""

Score = tuple[int, ...]
"""The measures asked, in order, then the tie breakers; less is better."""


class Pinning(Enum):
    """Where pins may go.

    ``fixed``: each keeps its face and its place on that face (the coordinates across it; along it
    the face moves with the box). ``face``: anywhere on its own face. ``free``: wherever the
    specification admits it.
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


@dataclass(frozen=True)
class Aim:
    """What every layout on the way must be.

    Attributes:
        spec: function, joints, stacking, ground, cells and limits asked.
        delay: the delay that must be met, in ticks.
        measures: what is to become less, the first counts most.
        pinning: where pins may go.
        pins: the pins as they were at the start.
        rules: the rule table.
    """

    spec: Spec
    delay: int
    measures: tuple[str, ...]
    pinning: Pinning
    pins: tuple[Pin, ...]
    rules: Rules = DEFAULT_RULES

    def judge(self, layout: Layout) -> Judged | None:
        """The layout with its verdict and score if it is right and keeps all, else None."""
        if not all(self.admits(pin, layout.size) for pin in layout.pins):
            return None
        verdict = check(layout, self.spec, delay=self.delay, rules=self.rules)
        if not verdict.passes:
            return None
        return Judged(layout, verdict, self.score(layout, verdict.delay))

    def score(self, layout: Layout, delay: int | None) -> Score:
        """The measures of a layout, then the tie breakers."""
        values = (measured(layout, delay, name) for name in self.compared)
        return tuple(10**9 if value is None else value for value in values)

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
