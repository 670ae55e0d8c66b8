"""What a search claims when boxes are open that could not be better than what it has."""

from __future__ import annotations

from pathlib import Path

import pytest

import synth
from synth.questions.box import BoxAnswer, BoxQuestion
from synth.questions.cover import Claim, needs
from synth.questions.events import BoxStarted, Event
from synth.questions.journal import Journal
from synth.questions.measures import known_measures
from synth.questions.outcome import Outcome, Status
from synth.questions.problem import Problem
from synth.search import solve, solve_box
from synth.search.walk import searching
from synth.search.walk.claims import Claims
from synth.search.walk.ledger import Ledger
from synth.search.workers.settings import Settings
from synth.spec import Spec
from tests.waiting import Clock, standing_clock

SPEC = Spec.parse("q = ~a", length=2, width=1, height=2, delay=1)
FLAT, UPRIGHT, ONE = (2, 1, 1), (1, 1, 2), (1, 1, 1)
"""An inverter beside its host, on it, and no room for both; the upright box comes first."""


class RunsOutAt:
    """A reporter that lets the time run out once a box is asked about."""

    def __init__(self, clock: Clock, size: tuple[int, int, int]) -> None:
        self.clock = clock
        self.size = size

    def event(self, event: Event) -> None:
        if isinstance(event, BoxStarted) and event.size == self.size:
            self.clock.run_out()


def known_flat() -> Journal:
    """A journal that knows the flat layout."""
    layout = solve_box(SPEC, FLAT, 1).layout
    assert layout is not None
    journal = Journal({})
    journal.note(BoxAnswer(BoxQuestion(FLAT, 1), layout))
    return journal


def stopped_at(size: tuple[int, int, int], **options: object) -> Outcome:
    """A search that knows the flat layout, and whose time is over when a box is asked about."""
    journal = known_flat()
    with pytest.MonkeyPatch.context() as patch, standing_clock() as clock:
        # From above, the upright layout would come at once.
        patch.setattr(searching, "_from_above", lambda *arguments: None)
        return solve(
            SPEC,
            time_limit_s=100,
            workers=1,
            without=("structure", "tallest"),
            journal=journal,
            reporter=RunsOutAt(clock, size),
            **options,  # type: ignore[arg-type]
        )


def test_a_layout_is_smallest_though_another_box_of_its_volume_is_open(tmp_path: Path) -> None:
    outcome = stopped_at(UPRIGHT, certificate=tmp_path / "proof")
    assert outcome.status is Status.FOUND
    assert outcome.layout is not None
    assert outcome.layout.size == FLAT
    assert outcome.claim.startswith("smallest by volume 2, under length at most 2")
    assert "1 question ruled out by" in outcome.claim
    assert (*UPRIGHT, 1) in outcome.stats.boxes_open
    assert outcome.parts == "2 parts; fewer may be possible (minimise parts as well to search on)"
    assert synth.audit(tmp_path / "proof").passes


def test_a_layout_is_not_called_smallest_while_a_smaller_box_is_open() -> None:
    outcome = stopped_at(ONE)
    assert outcome.status is Status.UNDECIDED
    assert outcome.claim == ""
    assert outcome.layout is not None
    assert "no layout of volume below 1, best so far 2" in outcome.reason


@pytest.mark.parametrize("measures", [("volume",), ("volume", "parts"), ("delay", "volume")])
def test_a_claim_holds_once_everything_better_is_ruled_out(measures: tuple[str, ...]) -> None:
    problem = Problem(SPEC, measures)
    ledger = Ledger(problem, journal=known_flat())
    claims = Claims(ledger, Settings(), problem.candidates())
    best = ledger.best()
    assert best is not None
    # A box that is no better may be open.
    ledger.leave_open(BoxQuestion((2, 1, 2), 1), "not decided in 2 seconds")
    values = known_measures(best.layout, best.verdict.delay, measures)
    steps = 0
    for need in needs(Claim(Status.FOUND, problem, values)):
        if ledger.known(need) is None:
            assert not claims.hold_for(best)
            ledger.rule_out(need)
            steps += 1
    assert steps
    assert claims.hold_for(best)
