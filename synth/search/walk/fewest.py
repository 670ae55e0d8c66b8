"""After the measures asked: the fewest parts in the box that was found.

A search for the smallest box returns the first layout that a solver comes upon, and another layout
of the same box may have fewer parts. Here the number of parts is brought down, one question after
another, within a budget. How far that came is said beside the claim, and is not part of it.

The budget counts conflicts of the solver, which are the same in every run. So without a time limit
the same question and seed give the same layout, on any machine and with any number of workers. The
budget is smaller for larger formulas, because a conflict then takes longer. All this begins only
after the measures asked are decided, and its proofs are not kept.
"""

from __future__ import annotations

import time
from concurrent.futures import wait
from dataclasses import dataclass

from synth.questions.box import BoxQuestion
from synth.search.walk.shares import Walk
from synth.search.workers.judged import Found
from synth.search.workers.solvers import DEFAULT_SOLVER, SOLVERS
from synth.words import counted

MOST_CONFLICTS = 100_000
"""The conflicts that one question may take: some five seconds of processor time."""

CONFLICTS_TIMES_CLAUSES = 6_000_000_000
"""The limit for large formulas: conflicts times clauses of one question."""

SHARE = 0.1
"""The share of a time limit that may be spent on parts, if it is not used up."""


@dataclass(frozen=True, slots=True)
class Fewest:
    """A layout with few parts.

    Attributes:
        found: the layout.
        excluded: whether fewer parts in its box, at its delay, were ruled out.
    """

    found: Found
    excluded: bool

    def sentence(self) -> str:
        """``20 parts, the fewest in this box ...``, or that fewer may be possible."""
        parts = counted(self.found.layout.part_count, "part")
        if self.excluded:
            return f"{parts}, the fewest in this box: fewer were ruled out by the solver"
        return f"{parts}; fewer may be possible (minimise parts as well to search on)"


def fewest_parts(walk: Walk, best: Found, time_limit_s: float | None) -> Fewest:
    """Reduce the parts of the layout found, in its own box and with equal measures.

    Args:
        walk: the walk that found the answer.
        best: the layout found.
        time_limit_s: the time limit of the whole search, or None.

    Raises:
        Refused: if the simulator rejects a layout that the solver found.
    """
    problem, ledger = walk.ledger.problem, walk.ledger
    until = None
    if time_limit_s is not None and walk.deadline is not None:
        until = min(walk.deadline, time.monotonic() + SHARE * time_limit_s)
    delay = best.verdict.delay if "delay" in problem.measures else problem.limits.delay
    assert delay is not None
    while best.layout.part_count > 0:
        asked = BoxQuestion(best.layout.size, delay, best.layout.part_count - 1)
        known = ledger.known(asked)
        if known is None:
            known = _ask(walk, asked, until)
        if not known:
            return Fewest(best, known is False)
        best = ledger.layout_for(asked)
    return Fewest(best, True)


def _ask(walk: Walk, asked: BoxQuestion, until: float | None) -> bool | None:
    """Whether a question has a layout; None if the budget does not decide it."""
    questioner = walk.questioner
    left = None if until is None else until - time.monotonic()
    if left is not None and left <= 0:
        return None
    clauses = max(1, questioner.expected_clauses(asked))
    named = questioner.settings.solver
    pending = questioner.put(
        asked,
        conflicts=max(1, min(MOST_CONFLICTS, CONFLICTS_TIMES_CLAUSES // clauses)),
        solver=named if SOLVERS[named].budget else DEFAULT_SOLVER,
    )
    try:
        done, _ = wait([pending.future], timeout=left)
    except BaseException:
        questioner.abandon(pending)
        raise
    if not done:
        questioner.abandon(pending)
        return None
    found = questioner.take(pending)
    if found is not None:
        questioner.keep(asked, found)
    return questioner.ledger.known(asked)
