"""Shares out the time of a walk, so that no box uses up all of it."""

from __future__ import annotations

import time
from collections.abc import Sequence

from synth.questions.box import BoxQuestion
from synth.search.walk.ledger import Ledger
from synth.search.walk.questioner import Questioner
from synth.search.walk.rounds import Round, StoodBack

FIRST_SHARE = 16
"""In the first round a question may use one part in this many of the time."""

LEAST_SHARE_S = 2.0
"""The least time that a question gets, in seconds."""

MORE_TIME = 4
"""How many times longer a question may take in the next round."""


class Walk:
    """Finds the first of some boxes that has a layout, within a deadline.

    Args:
        questioner: asks the questions.
        deadline: when to stop, as ``time.monotonic`` gives it, or None.

    Attributes:
        stood_back: whether it left its workers to what comes from above.
    """

    def __init__(self, questioner: Questioner, deadline: float | None = None) -> None:
        self.questioner = questioner
        self.deadline = deadline
        self.stood_back = False

    @property
    def ledger(self) -> Ledger:
        """What is known."""
        return self.questioner.ledger

    def first(
        self, candidates: Sequence[BoxQuestion], parts: int | None = None
    ) -> BoxQuestion | None:
        """The first candidate, in the order given, that has a layout; None if none has.

        Several are asked about at once; the answer is the same as if they were asked in turn.

        Under a deadline no box may use up all the time. In a first round each question gets a share
        of it. Questions that stay open go on with more time, or are asked again in cubes, until
        none before the layout found is open or the time is up. So a search that is stopped has a
        layout, if one was easy to find, and a bound.

        Args:
            candidates: boxes and delays.
            parts: the most parts, in addition to any bound of the candidates.

        Returns:
            The candidate, with ``parts`` as it was asked about.

        Raises:
            OutOfTime: when the deadline comes first, or there is no hope to be over by then.
            Refused: when the simulator rejects what the solver found.
        """
        asked = [candidate.with_at_most(parts) for candidate in candidates]
        share_s = None
        if self.deadline is not None:
            share_s = max(LEAST_SHARE_S, self._left_s() / FIRST_SHARE)
        try:
            while True:
                chosen = self._round(asked, share_s, stands_back=parts is None)
                before = asked if chosen is None else asked[: asked.index(chosen)]
                if share_s is None or not self.ledger.return_to_slow(before):
                    return chosen
                share_s *= MORE_TIME
                if share_s > self._left_s():
                    share_s = None
        finally:
            self.questioner.end_paused()

    def _round(
        self, asked: Sequence[BoxQuestion], share_s: float | None, *, stands_back: bool
    ) -> BoxQuestion | None:
        """One round; where it stands back, what comes from above takes over its workers."""
        try:
            return Round(
                self.questioner, asked, self.deadline, share_s, stands_back=stands_back
            ).run()
        except StoodBack:
            self.stood_back = True
            self.questioner.above.join(self.questioner.workers)
            raise

    def _left_s(self) -> float:
        assert self.deadline is not None
        return max(0.0, self.deadline - time.monotonic())
