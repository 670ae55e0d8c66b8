"""The loop: draws moves, asks them, takes what the simulator passes, remembers the best.

There is the *best* layout, and the one the loop is *at*: the walk may lead away from the best, and
after long without a gain the loop goes on from an earlier one. Only what the simulator has passed
is ever taken up (``Aim.judge``).
"""

from __future__ import annotations

import random
import time
from collections.abc import Set
from dataclasses import dataclass, field

from synth.encoding.windows.window import surrounded
from synth.layout import Layout
from synth.medium import Cell
from synth.search.workers.solvers import DEFAULT_SOLVER
from synth.shrinking.aim import HUGE, Aim, Judged
from synth.shrinking.asking import Reply
from synth.shrinking.crew import Askers
from synth.shrinking.events import Event, Gained, MoveEnded, Reporter, Restarted, Silent
from synth.shrinking.journal import Gain, Journal
from synth.shrinking.memory import Memory
from synth.shrinking.moves import Moves, Try
from synth.shrinking.pruning import idle, pruned, sliced, unburdened

NOTHING_LEFT = "nothing new is left to try"
"""Why a loop ended that is done."""

PATIENCE = 1_500_000
"""Effort without a gain after which the loop goes on from an earlier layout."""

KEPT_STARTS = 6
"""How many of the last gains it may go on from."""

EMPTY_DRAWS = 3
"""How often in a row nothing new may be drawn before the loop ends."""

PRUNED_WHOLE = 60
"""Parts up to which a layout is pruned everywhere after every move. In a larger one only what seems
idle is tried: to try every part would take longer than all moves.
"""

NEAR = 1
"""How far around a move solids are tried, in cells."""


@dataclass
class Loop:
    """One shrinking.

    Attributes:
        aim: what is wanted and kept.
        at: the layout the next moves start from.
        journal: takes every gain.
        askers: who asks windows.
        seed: of all that is drawn.
        deadline: on the monotonic clock, or None.
        most_effort: effort after which to end, or None (``Reply.effort``).
        earlier: seconds that went before, of a journal that is gone on with.
        tidy: whether to begin by looking for what can be deleted everywhere.
        effort: spent so far.
    """

    aim: Aim
    at: Judged
    journal: Journal
    askers: Askers
    seed: int = 0
    deadline: float | None = None
    most_effort: int | None = None
    earlier: float = 0.0
    tidy: bool = True
    solver: str = DEFAULT_SOLVER
    reporter: Reporter = field(default_factory=Silent)
    effort: int = 0

    def __post_init__(self) -> None:
        self.best = self.at
        self.generator = random.Random(f"{self.seed}/{len(self.journal.gains)}")
        self.memory = Memory()
        self.moves = Moves(self.aim, self.memory, self.generator, self.solver, self.at.layout.size)
        self._began = time.monotonic()
        self._starts = [self.at]
        self._since_gain = 0
        self._restarts = 0
        self._asked: dict[int, Try] = {}
        self._tidied = not self.tidy

    @property
    def seconds(self) -> float:
        """Seconds so far, those before included."""
        return self.earlier + time.monotonic() - self._began

    def run(self) -> str:
        """Shrink until the time is up, the effort is spent or nothing is left; says which.

        It may be called again, with more time or effort, and goes on from where it was.
        """
        if not self._tidied:
            self._tidy(self.at, "deletion")
            self._tidied = True
        empty = 0
        while empty < EMPTY_DRAWS:
            if self._is_over():
                if self.is_late or not self._asked:
                    return self._drop_all(self._why())
                # What was begun is waited for: it may gain, and helpers need not start anew.
            else:
                empty = 0 if self._ask_more() else empty + 1
            if not self._asked:
                self._restart()
                continue
            taken = self.askers.take(self.deadline)
            if taken is None:
                continue
            place, reply = taken
            move = self._asked.pop(place)
            self._take(move, reply)
        return self._drop_all(NOTHING_LEFT)

    # Asking

    @property
    def is_late(self) -> bool:
        """Whether the time is up."""
        return self.deadline is not None and time.monotonic() >= self.deadline

    def _is_over(self) -> bool:
        if self.is_late:
            return True
        return self.most_effort is not None and self.effort >= self.most_effort

    def _why(self) -> str:
        spent = self.most_effort is not None and self.effort >= self.most_effort
        return "the effort is spent" if spent else "the time is up"

    def _ask_more(self) -> bool:
        """Keep every place busy; whether any was given something or is busy still."""
        for place in range(self.askers.places):
            if place in self._asked:
                continue
            move = self.moves.draw(self.at)
            if move is None:
                break
            self._asked[place] = move
            self.askers.ask(place, move.asking)
        return bool(self._asked)

    def _drop_all(self, reason: str) -> str:
        self._drop()
        return reason

    def _drop(self) -> None:
        """Drop what is being asked: something gained, or it is over."""
        for place, move in list(self._asked.items()):
            self.askers.drop(place)
            self._tell(MoveEnded(move.kind, "dropped", len(move.asking.window.free), 0, 0.0))
        self._asked.clear()

    # Taking

    def _take(self, move: Try, reply: Reply) -> None:
        """Take an answer: judge a layout, learn what the move gained."""
        self.effort += reply.effort
        self._since_gain += reply.effort
        cells = len(move.asking.window.free)
        self._tell(MoveEnded(move.kind, reply.answer, cells, reply.clauses, reply.seconds))
        gained = False
        if reply.layout is not None:
            gained = self._take_layout(move, reply.layout)
        self.moves.note(move, reply.answer, gained, reply.effort)
        if self._since_gain > PATIENCE * (1 + self._restarts % 4):
            self._restart()

    def _take_layout(self, move: Try, layout: Layout) -> bool:
        """Take up a layout that a move found, if that leads on; whether it does."""
        found = self.aim.judge(layout)
        if found is None:
            return False
        better = found.score < self.at.score
        if not better and (move.kind != "elsewhere" or move.base is not self.at):
            return False
        before = self.at.score
        self._tidy(found, move.kind, surrounded(move.asking.window.free, NEAR))
        if self.at.score[:2] < before[:2] and self._asked and found.layout.volume < HUGE:
            # Windows of a huge layout take less time than a new helper does: they may end.
            self._drop()
        return True

    def _tidy(self, found: Judged, kind: str, cells: Set[Cell] = frozenset()) -> None:
        """Take up a layout, then take out of it all that the simulator alone can take out.

        Args:
            found: the layout.
            kind: of the move that found it.
            cells: where the move has been; none: everywhere.
        """
        self._take_up(found, kind)
        if kind == "elsewhere" and found.layout.volume >= HUGE:
            return  # It has as many parts as before, and the next step is not far.
        self._prune(cells)
        near = (cells if self._is_large else self.at.layout.cells.keys()) if cells else None
        near = near or None  # Nothing is near what is empty.
        for better in sliced(self.at, self.aim, near):
            self._take_up(better, "deletion")
            if self._is_over():
                return
            self._prune()

    def _prune(self, cells: Set[Cell] = frozenset()) -> None:
        """Take out parts that nobody needs; solids only in ``cells``, or everywhere if small."""
        if self._is_over():
            return
        tried = None
        if self._is_large:
            tried = idle(self.at, self.aim) | unburdened(self.at.layout, cells)
        self._take_up(pruned(self.at, self.aim, tried), "deletion")

    @property
    def _is_large(self) -> bool:
        """Whether there is no time to try every part after every move."""
        return self.at.layout.part_count > PRUNED_WHOLE

    def _take_up(self, found: Judged, kind: str) -> None:
        """Go on from a layout; if it is the best so far, say and keep so."""
        self.at = found
        if found.score >= self.best.score:
            return
        counted = 1 + len(self.aim.measures)
        if found.score[:counted] < self.best.score[:counted]:
            self._since_gain = 0
            self._starts = [*self._starts[-KEPT_STARTS:], found]
        self.best = found
        self.journal.note(Gain(self.seconds, kind, found))
        self._tell(Gained(kind, found, self.seconds))

    def _restart(self) -> None:
        """Go on from the best, or from another of the last gains."""
        self._restarts += 1
        self._since_gain = 0
        if self._restarts % 2:
            self.at = self.best
        else:
            self.at = self.generator.choice(self._starts[-KEPT_STARTS:])
        self._tell(Restarted(self.at.layout.size))

    def _tell(self, event: Event) -> None:
        self.reporter.event(event)
