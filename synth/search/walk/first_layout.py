"""A first layout under a time limit, so that the walk over boxes knows where to stop.

Known networks are placed in the boxes of the walk (``synth.search.placing.structure``), where
nothing is placed beside the walk (``synth.search.above.descent``): that takes no time from it.
Without a time limit neither is needed: the walk gets to a layout anyway, and proves more on its
way.
"""

from __future__ import annotations

import time
from collections.abc import Sequence
from dataclasses import replace
from itertools import takewhile

from synth.questions.box import BoxQuestion
from synth.search.placing.structure import StructureFirst
from synth.search.walk.questioner import Questioner
from synth.search.walk.shares import Walk
from synth.search.workers.solvers import SOLVERS

SHARE = 0.25
"""The share of the time limit that placing may take."""

TOO_MUCH = 6
"""Networks of this many inverters are hardly ever placed in a box of the walk."""

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
    settings = replace(questioner.settings, workers=questioner.workers)
    placing = StructureFirst(
        walk.ledger.problem,
        settings,
        questioner.crew,
        time.monotonic() + time_limit_s * SHARE,
        questioner.reporter,
        questioner.offer,
        questioner.take_gains,
    )
    networks = placing.networks(walk.ledger.problem.limits.delay or 0)
    if networks and len(networks[0].hears) < TOO_MUCH:
        placing.run(ahead)


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
