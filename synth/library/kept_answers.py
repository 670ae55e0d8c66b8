"""What a build stores from its jobs, and what it knows about a question beforehand."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace

from synth.library.answer import Answer
from synth.library.canonical import Canonical, Naming
from synth.library.chains import Chain
from synth.library.jobs import Result
from synth.library.recipe import Recipe
from synth.library.store import Store, boxes_of
from synth.questions.box import BoxAnswer, BoxQuestion
from synth.questions.measures import keeps
from synth.questions.outcome import Outcome, Status
from synth.simulator import check


@dataclass(frozen=True)
class KeptAnswers:
    """The answers of a build in its store.

    Attributes:
        store: the store that keeps them.
        recipe: what is built; its solver and seed are stored with every answer.
    """

    store: Store
    recipe: Recipe

    def known(self, asked: Canonical, chain: Chain) -> tuple[BoxAnswer, ...]:
        """What is known about a question: boxes ruled out, and layouts that answer it."""
        return (*self.store.ruled_out(asked), *self._layouts_for(asked, chain))

    def _layouts_for(self, asked: Canonical, chain: Chain) -> Iterator[BoxAnswer]:
        """Layouts found for other questions of a chain that also answer this one."""
        limits = asked.spec.limits
        assert limits.delay is not None
        for other in chain.questions:
            answer = self.store.answer(other.key)
            if answer is None or answer.layout is None:
                continue
            if keeps(answer.layout, answer.delay, limits):
                yield BoxAnswer(BoxQuestion(answer.layout.size, limits.delay), answer.layout)

    def at_the_end(self, asked: Canonical, result: Result, name: str) -> None:
        """Store what a job found, except a layout that the simulator refused."""
        outcome = result.outcome
        # Boxes come first, so that no answer is stored without what it rests on. Boxes ruled out
        # cube by cube are reported only at the end.
        self.store.rule_out(asked, [*result.answers, *boxes_of(outcome)])
        if outcome.status is not Status.REFUSED:
            self.store.keep_answer(asked, _answer(asked, outcome), name)

    def on_the_way(self, asked: Canonical, answers: Iterable[BoxAnswer]) -> None:
        """Store what a running job has reported about single boxes."""
        answers = list(answers)
        self.store.rule_out(asked, answers)
        for answer in answers:
            if answer.layout is not None:
                self._keep_as_best(asked, answer, "found on the way")

    def share(self, chain: Chain) -> None:
        """Store layouts found for one question of a chain also for open ones that they answer.

        What works in 2 ticks also works in 3. This is done at the end of every build, also of one
        that resumes after a kill.
        """
        for asked in chain.questions:
            answer = self.store.answer(asked.key)
            if answer is not None and not answer.proven:
                for found in self._layouts_for(asked, chain):
                    if found.layout != answer.layout:
                        self._keep_as_best(asked, found, "found for another delay")

    def _keep_as_best(self, asked: Canonical, found: BoxAnswer, how: str) -> None:
        """Store a layout for an open question, as the best known."""
        assert found.layout is not None
        verdict = check(found.layout, asked.spec, delay=asked.spec.limits.delay, rules=asked.rules)
        if not verdict.passes:
            return  # The search judges its layout by itself, and reports a refused one.
        answer = Answer(
            Status.UNDECIDED,
            proven=False,
            layout=found.layout,
            delay=verdict.delay,
            claim=f"{how}; the search was stopped before its end",
            solver=self.recipe.solver,
            seed=self.recipe.seed,
        )
        self.store.keep_answer(asked, answer)


def _answer(asked: Canonical, outcome: Outcome) -> Answer:
    """The answer in an outcome whose names are canonical already."""
    pins = asked.spec.pin_names
    answer = Answer.of(outcome, Naming({pin: pin for pin in pins}, None, pins))
    return answer if answer.claim else replace(answer, claim=outcome.reason)
