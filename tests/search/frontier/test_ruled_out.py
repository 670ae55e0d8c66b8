"""What boxes without a layout say of the least value, cubes of boxes included."""

from __future__ import annotations

from synth.encoding import Question
from synth.questions.box import BoxAnswer, BoxQuestion
from synth.questions.cubes import split
from synth.questions.measures import boxes
from synth.search.frontier.frontier import Survey
from synth.search.frontier.ruled_out import RuledOut
from tests.search.frontier.gates import (
    GATE,
    answered,
)


def test_a_cube_ruled_out_is_no_box_ruled_out() -> None:
    """Stopped when one cube of the smallest layout's box had its answer: that box is open."""
    whole, _ = answered()
    last = whole.steps[-1]
    assert last.known is not None
    problem = Survey(GATE).problem_at(last.last)
    ruled_out = RuledOut()
    for size in boxes(GATE.limits):
        candidate = BoxQuestion(size, last.last)
        if size == last.known.layout.size:
            cube, *others = split(Question(GATE, *candidate))
            assert others
            ruled_out.keep(problem, [BoxAnswer(candidate, None, cube)])
        elif candidate.measure("floor") <= last.known.value:
            ruled_out.keep(problem, [BoxAnswer(candidate, None)])
    assert ruled_out.bound(problem, "floor") == last.known.value


def test_a_cube_takes_the_place_of_no_other_answer() -> None:
    problem = Survey(GATE).problem_at(2)
    ruled_out = RuledOut()
    candidate = BoxQuestion((2, 2, 3), 2)
    first, second, *_ = split(Question(GATE, *candidate))
    answers = [BoxAnswer(candidate, None, cube) for cube in (None, first, second)]
    ruled_out.keep(problem, answers)
    assert ruled_out.under(problem) == answers
