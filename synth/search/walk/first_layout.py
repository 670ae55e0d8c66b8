"""A first layout under a time limit, so that the walk over boxes knows where to stop.

Known networks are placed at once (``synth.search.placing.structure``), or in two stages where that
is too much (``synth.search.placing.staged``). Without a time limit this is not needed: the walk
gets to a layout anyway, and proves more on its way.
"""

from __future__ import annotations

import time
from collections.abc import Callable, Sequence
from itertools import takewhile

from synth.questions.box import BoxQuestion
from synth.questions.events import Reporter
from synth.questions.problem import Problem
from synth.search.placing.staged import InStages
from synth.search.placing.structure import Keep, StructureFirst
from synth.search.walk.questioner import Questioner
from synth.search.walk.shares import Walk
from synth.search.workers.crew import Crew
from synth.search.workers.judged import Found
from synth.search.workers.settings import Settings
from synth.search.workers.solvers import SOLVERS

SHARE = 0.25
"""The share of the time limit that placing at once may take, and placing in stages as well."""

LEAST_STAGED_S = 10.0
"""With less time than this, in seconds, two stages are not tried: they take longer."""

TOO_MUCH = 6
"""From this many inverters on, two stages come first: so many are hardly ever placed at once."""

MOST_CELLS = 160
"""Cells of a box from which on nothing is placed: the formula grows with them, and what does not
fit into as many is better left to what shrinks from above.
"""

TOO_LARGE = 100_000
"""From about this many clauses on, a question is hard to ask whole. The walk decides smaller ones
in less time than placing them takes."""


def first_layout(walk: Walk, candidates: Sequence[BoxQuestion], time_limit_s: float) -> None:
    """Offer the walk every better layout that placing finds, as it finds it.

    Args:
        walk: the walk; what it knows already is not tried again.
        candidates: boxes and delays in the order of the walk.
        time_limit_s: the seconds that the whole search may take.
    """
    questioner = walk.questioner
    if len(candidates) < 2 or not SOLVERS[questioner.settings.placer].budget:
        return
    ahead = _ahead(questioner, candidates)
    if not ahead:
        return
    share_s = time_limit_s * SHARE
    staged = share_s >= LEAST_STAGED_S
    placing = StructureFirst(*_tools(questioner, share_s))
    networks = placing.networks(walk.ledger.problem.limits.delay or 0)
    if not networks:
        return
    found: tuple[BoxQuestion, Found] | None = None
    stages_first = staged and len(networks[0].hears) >= TOO_MUCH
    if stages_first:
        found = _in_stages(questioner, share_s)
        if found is not None and found[0] in ahead:
            ahead = ahead[: ahead.index(found[0])]
        placing.until = time.monotonic() + share_s
    if placing.run(ahead) is None and staged and not stages_first:
        _in_stages(questioner, share_s)


def _ahead(questioner: Questioner, candidates: Sequence[BoxQuestion]) -> list[BoxQuestion]:
    """The candidates that are hard to ask and not too large to place, of which nothing is known,
    up to the first known to have a layout.
    """
    known = [(candidate, questioner.ledger.known(candidate)) for candidate in candidates]
    undecided = takewhile(lambda pair: pair[1] is not True, known)
    return [
        candidate
        for candidate, answer in undecided
        if answer is None
        and candidate.measure("volume") <= MOST_CELLS
        and questioner.expected_clauses(candidate) >= TOO_LARGE
    ]


def _in_stages(questioner: Questioner, seconds: float) -> tuple[BoxQuestion, Found] | None:
    return InStages(*_tools(questioner, seconds)).run()


def _tools(
    questioner: Questioner, seconds: float
) -> tuple[Problem, Settings, Crew, float, Reporter, Keep, Callable[[], object]]:
    """What placing needs; it ends after ``seconds``."""
    problem, until = questioner.ledger.problem, time.monotonic() + seconds
    settings, crew = questioner.settings, questioner.crew
    keep, look = questioner.offer, questioner.take_gains
    return problem, settings, crew, until, questioner.reporter, keep, look
