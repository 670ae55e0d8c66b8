"""What a build keeps of what its jobs find out, and what it knows of a question beforehand."""

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
    """Answers of a build in its store.

    Attributes:
        store: where they are kept.
        recipe: what is built; its solver and seed stand beside every answer.
    """

    store: Store
    recipe: Recipe

    def known(self, asked: Canonical, chain: Chain) -> tuple[BoxAnswer, ...]:
        """What is known of a question: boxes ruled out, and layouts that would do for it."""
        return (*self.store.ruled_out(asked), *self._layouts_for(asked, chain))

    def _layouts_for(self, asked: Canonical, chain: Chain) -> Iterator[BoxAnswer]:
        """Layouts found for questions of a chain that would do for another of it."""
        limits = asked.spec.limits
        assert limits.delay is not None
        for other in chain.questions:
            answer = self.store.answer(other.key)
            if answer is None or answer.layout is None:
                continue
            if keeps(answer.layout, answer.delay, limits):
                yield BoxAnswer(BoxQuestion(answer.layout.size, limits.delay), answer.layout)

    def at_the_end(self, asked: Canonical, result: Result, name: str) -> None:
        """Keep what a job found; a layout that the simulator refused is not kept."""
        outcome = result.outcome
        # Boxes first: an answer never stands without what it rests on. Those that were ruled out
        # cube by cube are told of at the end only.
        self.store.rule_out(asked, [*result.answers, *boxes_of(outcome)])
        if outcome.status is not Status.REFUSED:
            self.store.keep_answer(asked, _answer(asked, outcome), name)

    def on_the_way(self, asked: Canonical, answers: Iterable[BoxAnswer]) -> None:
        """Keep what a job that is under way has told of single boxes."""
        answers = list(answers)
        self.store.rule_out(asked, answers)
        for answer in answers:
            if answer.layout is not None:
                self._keep_as_best(asked, answer, "found on the way")

    def share(self, chain: Chain) -> None:
        """Keep what was found for a question of a chain for open ones that it does for as well:
        what works in 2 ticks also works in 3. At the end of every build, so that a kill loses none.
        """
        for asked in chain.questions:
            answer = self.store.answer(asked.key)
            if answer is not None and not answer.proven:
                for found in self._layouts_for(asked, chain):
                    if found.layout != answer.layout:
                        self._keep_as_best(asked, found, "found for another delay")

    def _keep_as_best(self, asked: Canonical, found: BoxAnswer, how: str) -> None:
        """Keep a layout of a question that is open."""
        assert found.layout is not None
        verdict = check(found.layout, asked.spec, delay=asked.spec.limits.delay, rules=asked.rules)
        if not verdict.passes:
            return  # The search sees that, too, and says what it thinks of it.
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
    """An outcome in canonical names, which those of a canonical question are already."""
    pins = asked.spec.pin_names
    answer = Answer.of(outcome, Naming({pin: pin for pin in pins}, None, pins))
    return answer if answer.claim else replace(answer, claim=outcome.reason)
