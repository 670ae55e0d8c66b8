"""Several layouts of one question shrunk in turn, those that arrive on the way as well.

A start that is slower than is asked may be so until it is small: what is small is mostly quick as
well. Only once it gains no more does its delay come before all else.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace

from synth.errors import InputError
from synth.layout import Layout
from synth.medium import DEFAULT_RULES, Rules
from synth.shrinking.given import aim_of
from synth.shrinking.turns import Told, Turns
from synth.spec import Spec


@dataclass
class Relay(Turns):
    """Takes starts and shrinks them in turn.

    Attributes:
        spec: what every layout must do, with limits that starts may break.
        measures: what is to become less, the first counts most.
        told: given every layout that some loop gained, those that break limits included.
        rules: the rule table.
    """

    spec: Spec
    measures: Sequence[str]
    told: Told
    rules: Rules = DEFAULT_RULES

    def add(self, layout: Layout) -> bool:
        """Take up a start; whether it can be used: it is right, limits left aside."""
        try:
            aim, judged = aim_of(
                layout, self.spec, minimize=self.measures, delay=None, pins="free", rules=self.rules
            )
        except InputError:
            return False
        if any(loop.best.layout == judged.layout for loop in self.loops):
            return False
        self.told(judged)
        tight = None
        if aim.slowest > aim.delay:
            tight, aim = aim, replace(aim, delay=aim.slowest)
            judged = aim.judge(judged.layout) or judged
        self.enter(aim, judged, self.told, tight)
        return True

    def run(self, arrivals: Callable[[], Iterable[Layout]] = tuple) -> None:
        """Shrink until the time is up or nothing is left to try.

        Args:
            arrivals: asked between turns for further starts.
        """

        def take_up() -> None:
            for layout in arrivals():
                self.add(layout)

        self.take_turns(take_up)
