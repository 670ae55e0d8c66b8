"""What the simulator says of a layout that a search found: kept tidy, or refused."""

from __future__ import annotations

from dataclasses import dataclass

from synth.layout import Layout
from synth.search.workers.settings import Settings
from synth.search.workers.tidy import tidy
from synth.simulator.verdict import Verdict
from synth.spec import Spec


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


def tidied(layout: Layout, spec: Spec, delay: int, settings: Settings) -> Found:
    """A layout without what could go, and the simulator's verdict on it, which may be a fault."""
    return Found(*tidy(layout, spec, delay=delay, prefer=settings.prefer, rules=settings.rules))
