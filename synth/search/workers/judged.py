"""What the simulator says of a layout that a search found: kept tidy, or refused."""

from __future__ import annotations

from dataclasses import dataclass

from synth.layout import Layout
from synth.questions.problem import Problem
from synth.search.workers.tidy import tidy
from synth.simulator.verdict import Verdict


class Refused(Exception):
    """The simulator rejects a layout that the solver found."""

    def __init__(self, layout: Layout, verdict: Verdict) -> None:
        super().__init__("the simulator rejects the layout that the solver found")
        self.layout = layout
        self.verdict = verdict


@dataclass(frozen=True, slots=True)
class Found:
    """A tidy layout that the simulator passes."""

    layout: Layout
    verdict: Verdict


def tidied(layout: Layout, problem: Problem, delay: int, prefer: str) -> Found:
    """A layout without what could go, and the simulator's verdict on it, which may be a fault.

    Args:
        layout: the layout, as decoded.
        problem: what was asked.
        delay: ticks it must meet.
        prefer: what cells become that only hold a part up (``Settings.prefer``).
    """
    return Found(*tidy(layout, problem.spec, delay=delay, prefer=prefer, rules=problem.rules))
