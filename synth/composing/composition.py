"""The result of composing: the best layout, all attempts, and the limits that none keeps."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, fields

from synth.layout import Layout
from synth.simulator import Verdict
from synth.spec import Limits, Spec
from synth.words import counted, unit_of


def measure(layout: Layout, delay: int | None, name: str) -> int | None:
    """A measure of section 9 of a layout whose own delay is known."""
    if name == "delay":
        return delay
    if name == "parts":
        return layout.part_count
    value: int = getattr(layout, name)
    return value


@dataclass(frozen=True)
class Attempt:
    """What one construction made of one network.

    Attributes:
        construction: the name of the construction.
        note: what it was given: how many products, which sides.
        layout: the layout that it made, or None.
        verdict: the simulator's verdict on it, or None if it was not judged.
        reason: why there is no layout, or why it was not judged.
    """

    construction: str
    note: str
    layout: Layout | None
    verdict: Verdict | None
    reason: str = ""

    @property
    def right(self) -> bool:
        """Whether the simulator finds nothing wrong except limits on measures."""
        return self.verdict is not None and self.layout is not None and not self.reason

    def measure(self, name: str) -> int | None:
        """One of its measures; None if there is no layout, or its delay is not known."""
        if self.layout is None:
            return None
        if name == "link_delay":
            return None if self.verdict is None else self.verdict.link_delay
        return measure(self.layout, None if self.verdict is None else self.verdict.delay, name)

    def broken(self, limits: Limits) -> dict[str, tuple[int, int]]:
        """The limits that it does not keep: what is asked, and its own value."""
        found = {}
        for item in fields(limits):
            asked = getattr(limits, item.name)
            own = self.measure(item.name)
            if asked is not None and (own is None or own > asked):
                found[item.name] = (asked, -1 if own is None else own)
        return found


@dataclass(frozen=True)
class Unkept:
    """A limit that no construction keeps together with all others.

    Attributes:
        limit: its name: a measure, or ``cells``, ``pins`` or ``pitch``, which are not measures.
        asked: its value; None if it is not a measure.
        nearest: the nearest value that can be kept, or None if there is none.
    """

    limit: str
    asked: int | None
    nearest: int | None

    def __str__(self) -> str:
        if self.asked is None:
            return f"no construction keeps the {self.limit} asked yet"
        within = f"within {self._counted(self.asked)}: not yet"
        if self.nearest is None:
            return within
        return f"within {self._counted(self.nearest)}: yes; {within}"

    def _counted(self, value: int) -> str:
        what = "" if self.limit in ("delay", "parts") else f" of {self.limit.replace('_', ' ')}"
        return f"{counted(value, unit_of(self.limit))}{what}"


@dataclass(frozen=True)
class Composition:
    """The answer of ``compose``.

    Attributes:
        spec: what was asked.
        best: the best layout that keeps every limit, or None.
        nearest: if there is none, the right layout that comes nearest to the limits, or None.
        unkept: if there is none, the limits that ``nearest`` does not keep.
        attempts: the attempts of the constructions, in the order tried.
        seconds: how long it took.
    """

    spec: Spec
    best: Attempt | None
    nearest: Attempt | None
    unkept: tuple[Unkept, ...]
    attempts: tuple[Attempt, ...]
    seconds: float

    @property
    def layout(self) -> Layout | None:
        """The best layout that keeps every limit, or None."""
        return None if self.best is None else self.best.layout

    @property
    def verdict(self) -> Verdict | None:
        """The simulator's verdict on ``layout``, or None."""
        return None if self.best is None else self.best.verdict

    def describe(self) -> str:
        """The result in one line."""
        if self.best is not None and self.best.layout is not None:
            layout = self.best.layout
            return (
                f"{self.best.construction}: {layout.length} x {layout.width} x {layout.height}, "
                f"{layout.volume} cells, {self.best.measure('delay')} ticks"
            )
        if self.unkept:
            return "; ".join(map(str, self.unkept))
        return "no construction makes it yet"


def distance(
    attempt: Attempt, limits: Limits, firm: Limits | None = None
) -> tuple[int, int, float]:
    """How far an attempt is from keeping the limits: how many it breaks, and by how much.

    Args:
        attempt: a layout, judged or not.
        limits: all limits.
        firm: those of them that count before the others.
    """
    broken = attempt.broken(limits)
    excess = sum((own - asked) / max(asked, 1) for asked, own in broken.values())
    return (len(attempt.broken(firm)) if firm is not None else 0, len(broken), excess)


def nearest_of(
    attempts: Sequence[Attempt], limits: Limits, firm: Limits | None = None
) -> Attempt | None:
    """The right layout that breaks the fewest limits, and these by the least."""
    right = [attempt for attempt in attempts if attempt.right]
    return min(right, key=lambda attempt: distance(attempt, limits, firm), default=None)


def unkept_by(attempt: Attempt | None, limits: Limits) -> tuple[Unkept, ...]:
    """The limits that an attempt does not keep, with its own values as the nearest."""
    if attempt is None:
        return ()
    return tuple(Unkept(name, asked, own) for name, (asked, own) in attempt.broken(limits).items())
