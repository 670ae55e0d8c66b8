"""An explained no: which limit stands in the way, and the nearest question with an answer.

A question without an answer is asked again with one limit at a time let out, step by step, within
the time allowed. What is said is what was found: a limit that was not decided is named as such.
"""

from __future__ import annotations

import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace

from synth.questions.outcome import Outcome, Status
from synth.spec import Limits

RELAXED = ("delay", "height", "length", "width", "floor", "volume", "parts")
"""Limits in the order in which they are let out: a tick more is the least to build."""

STEPS = 3
"""How far a limit is let out: by 1, 2, ... cells or ticks."""

Ask = Callable[[Limits, Limits, float], Outcome]
"""Asks a question with limits let out: (limits, limits already ruled out, seconds) -> outcome."""


@dataclass(frozen=True, slots=True)
class Relaxation:
    """What letting out one limit gives.

    Attributes:
        limit: the name of the limit.
        asked: its value in the question.
        needed: the first value found to have a layout, or None.
        ruled_out: the largest value shown to have none.
        volume: of the layout found, in cells, or None.
    """

    limit: str
    asked: int
    needed: int | None
    ruled_out: int
    volume: int | None = None

    def sentence(self) -> str:
        """The finding in words."""
        if self.needed is not None:
            return (
                f"{self.limit} {self.needed} instead of {self.asked} has a layout "
                f"(volume {self.volume})"
            )
        if self.ruled_out == self.asked + STEPS:
            return f"{self.limit} up to {self.ruled_out} alone does not help"
        return f"{self.limit} above {self.ruled_out} was not decided in the time allowed"


def relaxations(
    limits: Limits, seconds: float, ask: Ask, names: tuple[str, ...] = RELAXED
) -> Iterator[Relaxation]:
    """Let out one limit at a time, each with an equal share of the time that is left."""
    deadline = time.monotonic() + seconds
    given = [name for name in names if getattr(limits, name) is not None]
    for index, name in enumerate(given):
        share = (deadline - time.monotonic()) / (len(given) - index)
        if share > 0:
            yield _relax(limits, name, share, ask)


def _relax(limits: Limits, name: str, seconds: float, ask: Ask) -> Relaxation:
    asked = getattr(limits, name)
    deadline = time.monotonic() + seconds
    ruled_out = limits
    for value in range(asked + 1, asked + 1 + STEPS):
        left = deadline - time.monotonic()
        if left <= 0:
            break
        let_out = replace(limits, **{name: value})
        outcome = ask(let_out, ruled_out, left)
        if outcome.status is Status.FOUND and outcome.layout is not None:
            return Relaxation(name, asked, value, value - 1, outcome.layout.volume)
        if outcome.status is not Status.IMPOSSIBLE:
            break
        ruled_out = let_out
    return Relaxation(name, asked, None, getattr(ruled_out, name))


def advice(findings: list[Relaxation]) -> tuple[str, ...]:
    """The findings as sentences, the clash first."""
    helping = [finding for finding in findings if finding.needed is not None]
    if not findings:
        return ()
    if not helping:
        first = "letting out any one limit was not found to help"
    else:
        clash = " and ".join(f"{finding.limit} {finding.asked}" for finding in helping)
        first = (
            f"{clash} cannot all be had"
            if len(helping) > 1
            else f"{clash} is what stands in the way"
        )
    return (first, *(finding.sentence() for finding in findings))
