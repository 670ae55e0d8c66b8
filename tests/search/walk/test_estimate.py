"""The time left: exact where times grow exactly, silent where nothing can be said."""

from __future__ import annotations

import math

import pytest

from synth.questions.box import BoxQuestion
from synth.questions.events import BoxEnded, TimeLeft
from synth.questions.problem import Problem
from synth.search import solve
from synth.search.walk import estimate
from synth.search.walk.estimate import LEAST_BOXES, Estimate, expected_s, fitted
from synth.search.walk.ledger import Ledger
from synth.spec import Spec
from tests.waiting import Log

PROBLEM = Problem(Spec.parse("q = a", length=40, width=1, height=1, delay=1))
BOXES = [BoxQuestion((length, 1, 1), 1) for length in range(1, 41)]


def ended(question: BoxQuestion, seconds: float, answer: str = "impossible") -> BoxEnded:
    return BoxEnded(1, question.size, question.delay, answer, 1, 1, seconds)


def growing(question: BoxQuestion) -> float:
    return 0.1 * 1.5 ** question.measure("volume")


def told(count: int, workers: int = 1, deadline: float | None = None) -> Estimate:
    ledger = Ledger(PROBLEM)
    found = Estimate(ledger, BOXES, workers, deadline)
    for question in BOXES[:count]:
        ledger.rule_out(question)
        found.note(ended(question, growing(question)))
    return found


@pytest.mark.parametrize("workers", [1, 2])
def test_what_grows_by_a_factor_is_foreseen(workers: int) -> None:
    left = told(20, workers).left_s(0.0)
    assert left is not None
    assert math.isclose(left, sum(map(growing, BOXES[20:])) / workers, rel_tol=1e-6)


def test_less_is_left_the_more_is_done() -> None:
    lefts = [told(count).left_s(0.0) or 0.0 for count in (10, 20, 30, 40)]
    assert lefts == sorted(lefts, reverse=True)
    assert lefts[-1] == 0.0


def test_a_deadline_is_the_most() -> None:
    assert told(20, deadline=100.0).left_s(90.0) == 10.0
    assert told(20, deadline=100.0).left_s(200.0) == 0.0


def test_too_few_boxes_say_nothing() -> None:
    assert told(LEAST_BOXES - 1).left_s(0.0) is None
    assert fitted([(4, 1.0)] * 20) is None


def test_what_is_given_up_or_asked_in_pieces_says_nothing() -> None:
    found = Estimate(Ledger(PROBLEM), BOXES, 1)
    for question in BOXES:
        for answer in ("dropped", "undecided"):
            assert found.note(ended(question, 1.0, answer)) is None
        piece = BoxEnded(1, question.size, 1, "impossible", 1, 1, 1.0, "cube 1 of 2")
        assert found.note(piece) is None
    assert found.left_s(0.0) is None


def test_times_never_seem_to_fall() -> None:
    line = fitted([(cells, 100.0 / cells) for cells in range(1, 20)])
    assert line is not None
    assert expected_s(BOXES[-1], line) == pytest.approx(expected_s(BOXES[0], line))


def test_a_search_tells_it(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(estimate, "EVERY_S", 0.0)

    log = Log()
    spec = Spec.parse("q = ~(a | b)", length=4, width=2, height=4, stack="y", delay=2)
    solve(spec, workers=1, reporter=log)
    lefts = [event.seconds for event in log.events if isinstance(event, TimeLeft)]
    assert lefts
    assert min(lefts) >= 0.0
