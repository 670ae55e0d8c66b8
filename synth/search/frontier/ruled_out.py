"""The boxes that a frontier knows to be without a layout, and the bound that follows from them."""

from __future__ import annotations

from collections.abc import Iterable

from synth.bounds import least_delay
from synth.questions.box import BoxAnswer, BoxQuestion
from synth.questions.cover import Claim, covers, needs
from synth.questions.cubes import Cube
from synth.questions.outcome import Status
from synth.questions.problem import Problem
from synth.search.frontier.axes import MANY

_Key = tuple[BoxQuestion, Cube | None]


class RuledOut:
    """Answers "no layout" of several problems that differ in limits only.

    Of each it keeps the limit on the link delay under which it holds: it says nothing of more.
    """

    def __init__(self) -> None:
        self._boxes: dict[_Key, BoxAnswer] = {}
        self._under: dict[_Key, int] = {}

    def keep(self, problem: Problem, answers: Iterable[BoxAnswer]) -> None:
        """Take note of those of the answers to a problem that say "no layout"."""
        for entry in answers:
            if entry.layout is None:
                key = (entry.question, entry.cube)
                self._boxes[key] = entry
                self._under[key] = max(_link_limit(problem), self._under.get(key, 0))

    def under(self, problem: Problem) -> list[BoxAnswer]:
        """The answers that hold under the limit on the link delay of a problem."""
        most = _link_limit(problem)
        return [entry for key, entry in self._boxes.items() if most <= self._under[key]]

    def bound(self, problem: Problem, measure: str) -> int | None:
        """The least value of a measure that a layout of a problem may still have.

        None if all is ruled out, or if boxes say nothing of the measure.
        """
        if measure == "parts":
            return None
        ruled_out: dict[tuple[int, int], list[BoxQuestion]] = {}
        for entry in self.under(problem):
            # A cube is only a part of a box.
            if entry.cube is None:
                ruled_out.setdefault(entry.question.size[:2], []).append(entry.question)
        least = least_delay(problem.spec.function).ticks
        open_values = (
            need._replace(delay=delay).measure(measure)
            for need in needs(Claim(Status.IMPOSSIBLE, problem, {}))
            for delay in (range(need.delay + 1) if measure == "delay" else [need.delay])
            if delay >= least
            and not any(
                covers(problem, answer, need._replace(delay=delay))
                for answer in ruled_out.get(need.size[:2], ())
            )
        )
        return min(open_values, default=None)


def _link_limit(problem: Problem) -> int:
    """The limit on the link delay, or so many ticks that it is none."""
    asked = problem.limits.link_delay
    return MANY if asked is None else asked
