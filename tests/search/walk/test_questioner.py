"""Questions that have used up their share of the time stand still, and go on when asked again."""

from __future__ import annotations

from collections.abc import Iterator
from concurrent.futures import Future

import pytest

from synth.questions.box import BoxQuestion
from synth.questions.events import BoxEnded, BoxStarted
from synth.questions.problem import Problem
from synth.search.walk.ledger import Ledger
from synth.search.walk.questioner import Pending, Questioner
from synth.search.workers.child import CAN_STAND_STILL
from synth.search.workers.crew import Crew, Stopped
from synth.search.workers.settings import Settings
from synth.search.workers.task import Reply
from synth.spec import Spec
from tests.waiting import GUARD_S, Log, wait_until

pytestmark = [
    pytest.mark.own_workers,
    pytest.mark.skipif(not CAN_STAND_STILL, reason="processes cannot stand still here"),
]

HARD = BoxQuestion((6, 2, 6), 4)
EASY = BoxQuestion((1, 2, 2), 4)


@pytest.fixture
def log() -> Log:
    """Hears of every question."""
    return Log()


@pytest.fixture
def questioner(log: Log) -> Iterator[Questioner]:
    """One worker for a parity of three."""
    problem = Problem(Spec.parse("q = a ^ b ^ c", length=6, width=2, height=6, stack="y"))
    with Crew(1) as crew:
        yield Questioner(Ledger(problem), Settings(workers=1), crew, log)


def given_up(questioner: Questioner) -> Pending:
    """The hard question, given up in the middle of its work."""
    pending = questioner.put(HARD)
    crew = questioner.crew
    wait_until(lambda: (crew.processor_seconds(pending.future) or 0.0) > 0.0, "it does nothing")
    questioner.give_up(pending, 1.0)
    return pending


def ended(future: Future[Reply]) -> bool:
    """Whether a question was stopped for good."""
    with pytest.raises(Stopped):
        future.result(timeout=GUARD_S)
    return True


def test_a_question_given_up_goes_on_where_it_was(questioner: Questioner, log: Log) -> None:
    """Others are asked meanwhile. It starts and ends each time, as others see it."""
    pending = given_up(questioner)
    assert questioner.ledger.is_open(HARD)
    easy = questioner.put(EASY)
    assert easy.future.result(timeout=GUARD_S).answer == "impossible"
    assert not pending.future.done()
    assert questioner.ledger.return_to_slow([HARD])
    assert questioner.pieces(HARD, False) == [None], "it is hard, and goes on as a whole"
    again = questioner.put(HARD)
    assert again.future is pending.future
    assert again.started.number == pending.started.number + 2
    questioner.abandon(again)
    assert ended(again.future)
    events = [event for event in log.events if isinstance(event, BoxStarted | BoxEnded)]
    assert [type(event) for event in events if event.size == HARD.size] == [
        BoxStarted,
        BoxEnded,
        BoxStarted,
        BoxEnded,
    ]


def test_where_workers_would_be_idle_its_cubes_are_asked_instead(questioner: Questioner) -> None:
    pending = given_up(questioner)
    pieces = questioner.pieces(HARD, True)
    assert len(pieces) > 1
    assert None not in pieces
    assert ended(pending.future)


def test_nothing_stands_still_after_the_walk(questioner: Questioner) -> None:
    pending = given_up(questioner)
    questioner.end_paused()
    assert ended(pending.future)
    assert questioner.put(EASY).future.result(timeout=GUARD_S).answer == "impossible"
