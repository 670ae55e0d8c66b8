"""Tidies a layout that a search found, and has the simulator judge it."""

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
    """A layout without unneeded parts, and the simulator's verdict, which may find faults.

    Args:
        layout: the layout, as decoded.
        problem: what was asked.
        delay: the ticks that it must meet.
        prefer: the part to use in cells that only hold a part up (``Settings.prefer``).
    """
    return Found(*tidy(layout, problem.spec, delay=delay, prefer=prefer, rules=problem.rules))
