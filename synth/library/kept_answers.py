"""What a build stores from its jobs, and what it knows about a question beforehand."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace

from synth.layout import Layout
from synth.library.answer import Answer
from synth.library.beyond import Beyond, verdict_beyond
from synth.library.canonical import Canonical, Naming
from synth.library.chains import Chain
from synth.library.jobs import Result
from synth.library.recipe import Recipe
from synth.library.starting import starts
from synth.library.store import Store, boxes_of
from synth.questions.box import BoxAnswer, BoxQuestion
from synth.questions.measures import keeps
from synth.questions.outcome import Outcome, Status
from synth.questions.room import let_go
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

    def lacks_layout(self, asked: Canonical) -> bool:
        """Whether a question is open, without a layout, and one beyond its limits may be kept."""
        answer = self.store.answer(asked.key)
        if answer is None or answer.proven or answer.layout is not None:
            return False
        return bool(let_go(asked.spec))

    def beyond(self, asked: Canonical) -> Beyond:
        """What is known beyond the limits of a stored question."""
        return self.store.beyond(self.store.number_of(asked.key))

    def starts(self, asked: Canonical) -> tuple[Layout, ...]:
        """``synth.library.starting.starts``: what shrinking beyond the limits begins with."""
        return starts(self.store, asked.problem, asked.spec.limits)

    def slower(self, asked: Canonical, chain: Chain) -> list[Layout]:
        """Layouts for longer delays of a chain, the next delay first: shrunk, some get quicker."""
        asked_delay = asked.spec.limits.delay or 0
        found: list[tuple[int, Layout]] = []
        for other in chain.questions:
            delay = other.spec.limits.delay or 0
            answer = self.store.answer(other.key)
            if delay <= asked_delay or answer is None:
                continue
            best = answer if answer.layout is not None else self.beyond(other)
            if best.layout is not None:
                found.append((delay, best.layout))
        return [layout for _, layout in sorted(found, key=lambda pair: pair[0])]

    def keep_beyond(self, asked: Canonical, layout: Layout | None, seconds: float = 0.0) -> bool:
        """Store a layout beyond the limits of an open question; whether it is better.

        One that keeps the limits after all is stored as the best known answer.
        """
        known = Beyond(seconds=seconds)
        if layout is not None:
            verdict = verdict_beyond(asked, layout)
            if verdict.passes and keeps(layout, verdict.delay, asked.spec.limits):
                found = BoxAnswer(BoxQuestion(layout.size, verdict.delay or 0), layout)
                self._keep_as_best(asked, found, "found from above")
                return True
            if verdict.passes:
                known = Beyond(layout, verdict.delay, seconds)
        return self.store.keep_beyond(asked, known)

    def share(self, chain: Chain) -> None:
        """Store layouts found for one question of a chain also for open ones that they answer.

        What works in 2 ticks also works in 3. This is done at the end of every build, also of one
        that resumes after a kill. For those that stay without a layout, the best of the store
        beyond their limits is kept.
        """
        for asked in chain.questions:
            self._share_with(asked, chain)

    def lacks_layout_still(self, asked: Canonical, chain: Chain) -> bool:
        """``lacks_layout``, after what is known of other questions was shared with it."""
        if not self.lacks_layout(asked):
            return False
        self._share_with(asked, chain)
        return self.lacks_layout(asked)

    def _share_with(self, asked: Canonical, chain: Chain) -> None:
        answer = self.store.answer(asked.key)
        if answer is not None and not answer.proven:
            for found in self._layouts_for(asked, chain):
                if found.layout != answer.layout:
                    self._keep_as_best(asked, found, "found for another delay")
        if self.lacks_layout(asked):
            for layout in self.starts(asked):
                self.keep_beyond(asked, layout)

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
