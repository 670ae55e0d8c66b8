"""Several layouts of one question shrunk in turn, each from where it stands.

Where shrinking gets stuck depends on the wiring it began with, so a few different starts do better
than one. Each has a loop of its own, and they take turns; one that has gained nothing in its last
turns waits longer for the next, and so does one that is much larger than the smallest.

A start that is slower than is asked may be so until it is small: what is small is mostly quick as
well. Only once it gains no more does its delay come before all else.
"""

from __future__ import annotations

import random
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, field, replace

from synth.errors import InputError
from synth.layout import Layout
from synth.medium import DEFAULT_RULES, Rules
from synth.shrinking.aim import Aim, Judged
from synth.shrinking.crew import Alone
from synth.shrinking.events import Event, Gained
from synth.shrinking.given import aim_of
from synth.shrinking.journal import Journal
from synth.shrinking.loop import NOTHING_LEFT, Loop
from synth.spec import Spec

TURN = 25_000
"""Effort of a turn: some seconds."""

MOST_STARTS = 5
"""Loops that are gone on with; of more the worst is left that had a turn: most of what a placed
start has too much goes in its first one.
"""

PATIENT = 5
"""Turns without a gain after which a loop that may be slow must become quick."""


@dataclass
class _Runner:
    """A loop, and when its turn comes.

    Attributes:
        loop: the loop.
        tight: its aim once it may no longer be slow; None: it may not be slow.
        idle: how many of its last turns gained nothing.
        next: after how many rounds its turn comes.
        turns: how many it had.
    """

    loop: Loop
    tight: Aim | None = None
    idle: int = 0
    next: float = 0.0
    turns: int = 0

    @property
    def rank(self) -> tuple[float, tuple[int, ...]]:
        """Whose turn it is: the lowest."""
        return (self.next, self.loop.best.score)


@dataclass
class Relay:
    """Takes starts and shrinks them in turn.

    Attributes:
        spec: what every layout must do, with limits that starts may break.
        measures: what is to become less, the first counts most.
        told: given every layout that some loop gained, those that break limits included.
        deadline: on the monotonic clock, or None.
        seed: of the moves.
        rules: the rule table.
    """

    spec: Spec
    measures: Sequence[str]
    told: Callable[[Judged], None]
    deadline: float | None = None
    seed: int = 0
    rules: Rules = DEFAULT_RULES
    _runners: list[_Runner] = field(default_factory=list)
    _started: int = 0

    def add(self, layout: Layout) -> bool:
        """Take up a start; whether it can be used: it is right, limits left aside."""
        try:
            aim, judged = aim_of(
                layout, self.spec, minimize=self.measures, delay=None, pins="free", rules=self.rules
            )
        except InputError:
            return False
        if any(runner.loop.best.layout == judged.layout for runner in self._runners):
            return False
        self.told(judged)
        tight = None
        if aim.slowest > aim.delay:
            tight, aim = aim, replace(aim, delay=aim.slowest)
            judged = aim.judge(judged.layout) or judged
        now = min((runner.next for runner in self._runners), default=0.0)
        self._runners.append(_Runner(self._loop(aim, judged), tight, next=now))
        if len(self._runners) > MOST_STARTS:
            self._leave_one()
        return True

    def _leave_one(self) -> None:
        """Leave the worst of those that had a turn, and never the best."""
        ranked = sorted(self._runners, key=lambda runner: runner.loop.best.score)
        worst = max(ranked[1:], key=lambda runner: (runner.turns > 0, runner.loop.best.score))
        self._runners.remove(worst)

    def _loop(self, aim: Aim, judged: Judged) -> Loop:
        self._started += 1
        return Loop(
            aim,
            judged,
            Journal(),
            Alone(),
            seed=random.Random(f"{self.seed}/{self._started}").randrange(1 << 30),
            deadline=self.deadline,
            reporter=self,
        )

    @property
    def loops(self) -> list[Loop]:
        """The loops of all starts."""
        return [runner.loop for runner in self._runners]

    def run(self, arrivals: Callable[[], Iterable[Layout]] = tuple) -> None:
        """Shrink until the time is up or nothing is left to try.

        Args:
            arrivals: asked between turns for further starts.
        """
        while self._runners:
            runner = min(self._runners, key=lambda one: one.rank)
            loop = runner.loop
            before = loop.best.score[: 1 + len(self.measures)]
            loop.most_effort = loop.effort + TURN
            reason = loop.run()
            runner.turns += 1
            if loop.is_late:
                return
            gained = loop.best.score[: 1 + len(self.measures)] < before
            runner.idle = 0 if gained else runner.idle + 1
            smallest = min(loop.best.layout.volume for loop in self.loops)
            runner.next += (1 + runner.idle) * (loop.best.layout.volume / smallest) ** 2
            if reason == NOTHING_LEFT:
                self._runners.remove(runner)
            elif runner.tight is not None:
                self._tighten(runner, runner.tight)
            for layout in arrivals():
                self.add(layout)

    def _tighten(self, runner: _Runner, tight: Aim) -> None:
        """Ask a loop for the delay asked, once it meets it by itself or gains no more without."""
        best = runner.loop.best
        meets = best.verdict.delay is not None and best.verdict.delay <= tight.delay
        if not meets and runner.idle < PATIENT:
            return
        judged = tight.judge(best.layout)
        runner.tight = None
        if judged is not None:
            runner.loop, runner.idle = self._loop(tight, judged), 0

    def event(self, event: Event) -> None:
        """Hear of what a loop gained."""
        if isinstance(event, Gained):
            self.told(event.judged)
