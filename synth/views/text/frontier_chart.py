"""A frontier as pictures and tables need it: words and numbers, independent of the search."""

from __future__ import annotations

from dataclasses import dataclass

from synth.layout.pins import show_size
from synth.medium import Size

SMALLEST = "smallest"
BEST_KNOWN = "best known"
OPEN = "open"
NONE = "none"


@dataclass(frozen=True, slots=True)
class ChartStep:
    """What is known of the first measure while the second is at most ``first`` to ``last``.

    Attributes:
        first, last: values of the second measure, both included.
        standing: ``smallest`` (less is ruled out), ``best known`` (with a gap down to ``bound``),
            ``open`` (no layout known, and not all ruled out) or ``none`` (all are ruled out).
        value: the first measure of the best layout; None if there is no layout.
        bound: the least value that is not ruled out; None for ``none``.
        point: whether the best value drops at this step.
        size, delay, parts: those of the best layout; None if there is no layout.
        file: the file that holds it, or None.
        claim: the claim behind the standing; may be empty.
    """

    first: int
    last: int
    standing: str
    value: int | None = None
    bound: int | None = None
    point: bool = False
    size: Size | None = None
    delay: int | None = None
    parts: int | None = None
    file: str | None = None
    claim: str = ""

    @property
    def size_text(self) -> str:
        """``4 x 2 x 4``; empty if there is no layout."""
        return "" if self.size is None else show_size(self.size)


@dataclass(frozen=True, slots=True)
class Chart:
    """A frontier.

    Attributes:
        function: what is computed, in one line.
        asked: limits, stacking, joints and medium, one phrase each.
        axes: the two measures.
        steps: the steps in order of the second measure, without gaps.
    """

    function: str
    asked: tuple[str, ...]
    axes: tuple[str, str]
    steps: tuple[ChartStep, ...]

    @property
    def complete(self) -> bool:
        """Whether every step is decided."""
        return all(step.standing in (SMALLEST, NONE) for step in self.steps)


def span(step: ChartStep) -> str:
    """``2``, or ``2 to 4``."""
    return str(step.first) if step.first == step.last else f"{step.first} to {step.last}"
