"""What is known about one measure against another: layouts, bounds, and the steps they make.

For every limit on the second measure, the first has a smallest value. A layout is an upper bound of
it, at the layout's own value of the second measure and at all larger limits. A bound that was shown
is a lower bound of it, at the limit where it was shown and at all smaller ones. Where both meet,
the smallest value is known.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from enum import Enum

from synth.layout import Layout
from synth.questions.measures import measure_of
from synth.simulator.verdict import Verdict


class Standing(Enum):
    """How much is known about a step; the values are the words that documents use."""

    SMALLEST = "smallest"
    BEST_KNOWN = "best known"
    OPEN = "open"
    NONE = "none"

    def __str__(self) -> str:
        return self.value

    @property
    def decided(self) -> bool:
        """Whether nothing is left to find out."""
        return self in (Standing.SMALLEST, Standing.NONE)


@dataclass(frozen=True, slots=True)
class Known:
    """A layout that the simulator passes, with its two measures."""

    value: int
    at: int
    layout: Layout
    verdict: Verdict


@dataclass(frozen=True, slots=True)
class Shown:
    """A lower bound: the first measure is at least ``bound`` while the second is at most ``at``.

    Attributes:
        at: a value of the second measure.
        bound: a value of the first measure; None means that there is no layout.
        claim: the sentence that says so.
    """

    at: int
    bound: int | None
    claim: str


@dataclass(frozen=True, slots=True)
class Step:
    """The smallest first measure while the second is at most anything from ``first`` to ``last``.

    Attributes:
        first, last: values of the second measure.
        standing: *smallest*: less is ruled out; *best known*: there is a gap down to ``bound``;
            *open*: no layout is known, and not all are ruled out; *none*: all are ruled out.
        bound: the least value of the first measure that is not ruled out; None with *none*.
        known: the layout; None with *open* and *none*.
        claim: the answer of the search that the bound rests on; empty if nothing is shown yet.
    """

    first: int
    last: int
    standing: Standing
    bound: int | None
    known: Known | None
    claim: str

    @property
    def value(self) -> int | None:
        """The first measure of the layout."""
        return None if self.known is None else self.known.value


@dataclass
class Curve:
    """Everything known about the first of two measures against the second.

    Attributes:
        axes: the two measures.
        least: the least value that the first measure can have.
        low, top: the least and the largest value of the second measure that matter.
    """

    axes: tuple[str, str]
    least: int
    low: int
    top: int
    layouts: list[Known] = field(default_factory=list)
    shown: list[Shown] = field(default_factory=list)

    def add(self, layout: Layout, verdict: Verdict) -> Known:
        """Take note of a layout that passes."""
        value, at = (measure_of(layout, verdict, name) for name in self.axes)
        assert value is not None
        assert at is not None
        known = Known(value, at, layout, verdict)
        if known not in self.layouts:
            self.layouts.append(known)
        return known

    def show(self, at: int, bound: int | None, claim: str) -> None:
        """Take note of a bound."""
        self.shown.append(Shown(at, bound, claim))

    def best(self, at: int) -> Known | None:
        """The best layout known whose second measure is at most ``at``."""
        fitting = (known for known in self.layouts if known.at <= at)
        return min(
            fitting,
            key=lambda known: (known.value, known.at, known.layout.part_count),
            default=None,
        )

    def strongest(self, at: int) -> Shown | None:
        """The strongest bound for ``at``, shown there or at a larger value."""
        fitting = [shown for shown in self.shown if shown.at >= at]
        return max(
            fitting,
            key=lambda shown: (shown.bound is None, shown.bound or 0, -shown.at),
            default=None,
        )

    def steps(self) -> list[Step]:
        """The whole curve, from the least value of the second measure up, without gaps."""
        starts = {self.low}
        starts |= {known.at for known in self.layouts}
        starts |= {shown.at + 1 for shown in self.shown}
        first, *more = sorted(start for start in starts if self.low <= start <= self.top)
        ends = [start - 1 for start in more] + [self.top]
        steps: list[Step] = []
        for begin, end in zip((first, *more), ends, strict=True):
            step = self._step(begin, end)
            if steps and _alike(steps[-1], step):
                # The claim of the later one holds for both: it covers all smaller values, too.
                step = self._step(steps.pop().first, end)
            steps.append(step)
        return steps

    def _step(self, first: int, last: int) -> Step:
        known, shown = self.best(first), self.strongest(last)
        claim = "" if shown is None else shown.claim
        bound = self.least if shown is None else shown.bound
        if bound is None:
            return Step(first, last, Standing.NONE, None, None, claim)
        if known is None:
            return Step(first, last, Standing.OPEN, bound, None, claim)
        standing = Standing.SMALLEST if known.value <= bound else Standing.BEST_KNOWN
        return Step(first, last, standing, bound, known, claim)

    def contradiction(self) -> str | None:
        """A contradiction: a layout where there is said to be none, or below a bound."""
        for known in self.layouts:
            shown = self.strongest(known.at)
            if shown is not None and (shown.bound is None or known.value < shown.bound):
                first, second = self.axes
                less = "" if shown.bound is None else f" of {first} below {shown.bound}"
                return (
                    f"one answer rules out any layout{less} within {second} {shown.at}, and "
                    f"another is a layout of {first} {known.value} and {second} {known.at}"
                )
        return None

    def points(self) -> Iterator[Step]:
        """The steps at which the best known value drops; none is as good as another in both."""
        value = None
        for step in self.steps():
            if step.value is not None and (value is None or step.value < value):
                value = step.value
                yield step


def _alike(one: Step, other: Step) -> bool:
    """Whether two steps differ only in their range."""
    return (one.standing, one.bound, one.known) == (other.standing, other.bound, other.known)
