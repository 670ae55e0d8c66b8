"""What a search may remember from earlier ones: answers, by what was asked."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Protocol

from synth.questions.box import BoxAnswer
from synth.questions.outcome import Outcome
from synth.questions.problem import Problem


class Memory(Protocol):
    """Remembers the answers of earlier searches, and keeps new ones."""

    def recall(self, problem: Problem) -> Outcome | None:
        """The decided answer (found with its claim, or impossible) to exactly this question.

        Names of pins and the order of inputs do not matter. The simulator judges a layout anew
        before it is returned. None if there is no decided answer.
        """
        ...

    def keep(self, problem: Problem, outcome: Outcome) -> object:
        """Keep an answer; one that says less than what is known already changes nothing."""
        ...

    def known(self, problem: Problem) -> Outcome | None:
        """Everything known about a question, decided or not; None if nothing is."""
        ...

    def recall_boxes(self, problem: Problem) -> Iterable[BoxAnswer]:
        """The boxes known to hold no layout of a problem, whatever its limits."""
        ...

    def keep_boxes(self, problem: Problem, answers: Iterable[BoxAnswer]) -> None:
        """Keep those of a search's answers about single boxes that say "no layout"."""
        ...
