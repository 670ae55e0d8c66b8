"""Several shrinkings in turn, each from where it stands.

Where shrinking gets stuck depends on the wiring it began with, so a few different starts do better
than one. Each has a loop of its own, and they take turns; one that has gained nothing in its last
turns waits longer for the next, and so does one that is much larger than the smallest.
"""

from __future__ import annotations

import random
from collections.abc import Callable
from dataclasses import dataclass, field

from synth.shrinking.aim import Aim, Judged
from synth.shrinking.crew import Askers, crew
from synth.shrinking.events import Event, Gained
from synth.shrinking.journal import Journal
from synth.shrinking.loop import NOTHING_LEFT, Loop

TURN = 25_000
"""Effort of a turn: some seconds."""

MOST_STARTS = 5
"""Loops that are gone on with; of more the worst is left that had a turn: most of what a placed
start has too much goes in its first one.
"""

PATIENT = 5
"""Turns without a gain after which a loop that may be slow must become quick."""

Told = Callable[[Judged], object]
"""Is given every layout that a loop gained."""


@dataclass
class Runner:
    """A loop, and when its turn comes.

    Attributes:
        loop: the loop.
        told: given what it gains.
        tight: its aim once it may no longer be slow; None: it may not be slow.
        idle: how many of its last turns gained nothing.
        next: after how many rounds its turn comes.
        turns: how many it had.
    """

    loop: Loop
    told: Told
    tight: Aim | None = None
    idle: int = 0
    next: float = 0.0
    turns: int = 0

    @property
    def rank(self) -> tuple[float, tuple[int, ...]]:
        """Whose turn it is: the lowest."""
        return (self.next, self.loop.best.score)


@dataclass(frozen=True)
class _Telling:
    """Tells of gains only."""

    told: Told

    def event(self, event: Event) -> None:
        """Hear of what a loop gained."""
        if isinstance(event, Gained):
            self.told(event.judged)


@dataclass(kw_only=True)
class Turns:
    """Shrinks what is entered, in turn.

    Attributes:
        deadline: on the monotonic clock, or None.
        most_effort: of all loops together, after which to end, or None.
        turn: effort of a turn.
        seed: of the moves.
        askers: who asks windows, for whoever's turn it is.
        tidy: whether each start is first looked over for what can be deleted everywhere.
    """

    deadline: float | None = None
    most_effort: int | None = None
    turn: int = TURN
    seed: int = 0
    askers: Askers = field(default_factory=lambda: crew(1))
    tidy: bool = True
    _runners: list[Runner] = field(default_factory=list)
    _started: int = 0

    def enter(self, aim: Aim, judged: Judged, told: Told, tight: Aim | None = None) -> None:
        """Take up a start.

        Args:
            aim: what is wanted of it.
            judged: the start.
            told: given every layout that is gained.
            tight: the aim once it may no longer be slow; None: it may not be slow.
        """
        now = min((runner.next for runner in self._runners), default=0.0)
        runner = Runner(self._loop(aim, judged, told), told, tight, next=now)
        self._runners.append(runner)
        if len(self._runners) > MOST_STARTS:
            self._leave_one()

    def _leave_one(self) -> None:
        """Leave the worst of those that had a turn, and never the best."""
        ranked = sorted(self._runners, key=lambda runner: runner.loop.best.score)
        worst = max(ranked[1:], key=lambda runner: (runner.turns > 0, runner.loop.best.score))
        self._runners.remove(worst)

    def _loop(self, aim: Aim, judged: Judged, told: Told) -> Loop:
        self._started += 1
        return Loop(
            aim,
            judged,
            Journal(),
            self.askers,
            seed=random.Random(f"{self.seed}/{self._started}").randrange(1 << 30),
            deadline=self.deadline,
            tidy=self.tidy,
            reporter=_Telling(told),
        )

    @property
    def loops(self) -> list[Loop]:
        """The loops of all starts."""
        return [runner.loop for runner in self._runners]

    def take_turns(self, between: Callable[[], object] | None = None) -> None:
        """Shrink until the time is up, the effort is spent or nothing is left to try.

        Args:
            between: called between turns; it may enter further starts. None: there are no others,
                and the last loop that is left goes on without turns.
        """
        left = self.most_effort
        while self._runners and (left is None or left > 0):
            runner = min(self._runners, key=lambda one: one.rank)
            loop = runner.loop
            counted = 1 + len(loop.aim.measures)
            before, spent = loop.best.score[:counted], loop.effort
            turn = None if between is None and len(self._runners) == 1 else self.turn
            most = min((effort for effort in (turn, left) if effort is not None), default=None)
            loop.most_effort = None if most is None else spent + most
            reason = loop.run()
            left = None if left is None else left - (loop.effort - spent)
            runner.turns += 1
            if loop.is_late:
                return
            gained = loop.best.score[:counted] < before
            runner.idle = 0 if gained else runner.idle + 1
            smallest = min(loop.best.layout.volume for loop in self.loops)
            runner.next += (1 + runner.idle) * (loop.best.layout.volume / smallest) ** 2
            if reason == NOTHING_LEFT:
                self._runners.remove(runner)
            elif runner.tight is not None:
                self._tighten(runner, runner.tight)
            if between is not None:
                between()

    def _tighten(self, runner: Runner, tight: Aim) -> None:
        """Ask a loop for the delay asked, once it meets it by itself or gains no more without."""
        best = runner.loop.best
        meets = best.verdict.delay is not None and best.verdict.delay <= tight.delay
        if not meets and runner.idle < PATIENT:
            return
        judged = tight.judge(best.layout)
        runner.tight = None
        if judged is not None:
            runner.loop, runner.idle = self._loop(tight, judged, runner.told), 0
