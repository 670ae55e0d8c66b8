"""The problem that a search solves: what is asked, what smallest means, and in which medium."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace

from synth.encoding import Question
from synth.layout import MadeFor
from synth.medium import DEFAULT_RULES, Rules
from synth.questions.box import BoxQuestion
from synth.questions.candidates import assumed_for, candidates_of
from synth.simulator.made_for import made_for
from synth.spec import Limits, Spec


@dataclass(frozen=True)
class Problem:
    """A specification with the limits in force, the measures and the rule table.

    Attributes:
        spec: what the layout must do. ``Problem.of`` sets all its limits on length, width, height
            and delay.
        measures: what "smallest" means; the first counts most.
        rules: the rule table.
    """

    spec: Spec
    measures: tuple[str, ...] = ("volume",)
    rules: Rules = DEFAULT_RULES

    @staticmethod
    def of(
        spec: Spec, measures: tuple[str, ...] = ("volume",), rules: Rules = DEFAULT_RULES
    ) -> tuple[Problem, tuple[str, ...]]:
        """The problem of a specification, and what was assumed for limits that it leaves open."""
        limits, assumed = assumed_for(spec)
        return Problem(spec.replace(limits=limits), measures, rules), assumed

    @property
    def limits(self) -> Limits:
        """The limits in force."""
        return self.spec.limits

    def under(self, limits: Limits) -> Problem:
        """The same problem under other limits."""
        return replace(self, spec=self.spec.replace(limits=limits))

    def candidates(self) -> list[BoxQuestion]:
        """Every question within the limits, the best by the measures first."""
        return candidates_of(self.spec, self.measures)

    def made_for(self, delay: int | None = None) -> MadeFor:
        """What a layout of this problem was made for.

        Args:
            delay: the layout's delay, in ticks. It is what was asked for if the delay is minimised;
                otherwise the limit in force is.
        """
        smallest = delay is not None and "delay" in self.measures
        return made_for(self.spec.function, delay if smallest else self.limits.delay)

    def formula(self, asked: BoxQuestion, without: Iterable[str] = ()) -> Question:
        """The encoder's question about one box.

        Args:
            asked: the box, the delay and the most parts.
            without: accelerations to leave out (``synth.encoding.ACCELERATIONS``).
        """
        size, delay, parts = asked
        whole = Question(self.spec, size, delay, parts=parts, rules=self.rules, sensitive=True)
        return whole.without(without)
