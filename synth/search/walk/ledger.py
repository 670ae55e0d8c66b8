"""What is known about a problem: every answer about a box, and what follows for other questions.

- A layout that meets T meets every later tick (section 5: what is known stays known).
- If a box has no layout at T, it has none at any earlier tick and none with fewer parts.
- If a box has no layout, mostly no lower one of its length and width has one
  (``synth.questions.cover.covers_lower``).
- A delay that no layout of the function meets (``synth.bounds``) needs no question at all.
- A question may be answered by its cubes (``synth.questions.cubes``): if no cube has a layout, the
  question has none.

Nothing else is inferred from one box about another: with pins on the sides, a longer or wider box
cannot always hold what a smaller one does. This module has no clock and starts no process.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from synth.bounds import NO_BOUND, DelayBound, least_delay
from synth.proofs.index_entries import Proven
from synth.proofs.kept_proofs import KeptProofs
from synth.questions.box import BoxAnswer, BoxQuestion
from synth.questions.cover import answers_for, covers_lower
from synth.questions.cubes import Cube, split
from synth.questions.journal import Journal
from synth.questions.measures import keeps, measured
from synth.questions.problem import Problem
from synth.search.workers.judged import Found
from synth.simulator import check


class Ledger:
    """The answers about one problem.

    Args:
        problem: what is asked.
        without: accelerations to leave out, in every question and here.
        journal: gives answers to start from, and keeps new ones.
        kept: gives proofs to start from, and lists new ones; with it, "no layout" in the journal
            counts only with a proof.

    Attributes:
        least_delay: the least ticks that every layout needs.
        found: the best layout of each box and delay.
        ruled_out: the questions answered "no layout", whole or by all their cubes.
        used: what of them the answer of the walk rests on, each box that they rule out by itself.
        covers_lower: whether "no layout" in a box answers for lower ones of its length and width.
        open: why a box and delay is undecided.
        slow: the questions that used up their share of the time in this pass.
        hard: the questions that did so in any pass.
        splits: the questions answered in cubes.
        proven: the evidence of each "no layout".
    """

    def __init__(
        self,
        problem: Problem,
        without: tuple[str, ...] = (),
        journal: Journal | None = None,
        kept: KeptProofs | None = None,
    ) -> None:
        self.problem = problem
        self.without = without
        self.journal = journal
        self.kept = kept
        self.least_delay: DelayBound = (
            NO_BOUND if "least-delay" in without else least_delay(problem.spec.function)
        )
        self.found: dict[BoxQuestion, Found] = {}
        self.ruled_out: set[BoxQuestion] = set()
        self.used: set[BoxQuestion] = set()
        self.open: dict[BoxQuestion, str] = {}
        self.slow: set[BoxQuestion] = set()
        self.hard: set[BoxQuestion] = set()
        self.splits: dict[BoxQuestion, tuple[Cube, ...]] = {}
        self.proven: dict[tuple[BoxQuestion, Cube | None], Proven] = {}
        self._ruled_out_on: dict[tuple[int, int], list[BoxQuestion]] = {}
        self.covers_lower = "tallest" not in without and covers_lower(problem)
        self._closed: dict[BoxQuestion, set[Cube]] = {}
        self._cubes: dict[BoxQuestion, list[Cube]] = {}
        self._recall()

    def _recall(self) -> None:
        """Start from the answers in the journal; the simulator judges each layout anew.

        The journal may come from a search under wider limits, whose layouts do not count here.
        """
        for proven in self.kept.found if self.kept else ():
            self.proven[proven.question, proven.cube] = proven
            self.rule_out(proven.question, proven.cube)
        spec, rules = self.problem.spec, self.problem.rules
        for answer in self.journal.entries if self.journal else ():
            if answer.layout is None:
                if self.kept is None:
                    self.rule_out(answer.question, answer.cube)
                continue
            verdict = check(answer.layout, spec, delay=answer.question.delay, rules=rules)
            if verdict.passes and keeps(answer.layout, verdict.delay, spec.limits):
                self.found[answer.question.any_parts] = Found(answer.layout, verdict)

    # What is known

    def known(self, asked: BoxQuestion) -> bool | None:
        """Whether a layout is known to exist (True), not to exist (False), or neither."""
        if next(self._fitting(asked), None) is not None:
            return True
        if self.is_too_fast(asked) or self.ruled_out_by(asked) is not None:
            return False
        return None

    def is_too_fast(self, asked: BoxQuestion) -> bool:
        """Whether a question asks for a delay that no layout of any size meets."""
        return asked.delay < self.least_delay.ticks

    def ruled_out_by(self, asked: BoxQuestion) -> BoxQuestion | None:
        """The question whose "no layout" covers this one; None if there is or needs to be none."""
        if self.is_too_fast(asked):
            return None
        answers = self._ruled_out_on.get(asked.size[:2], ())
        lower_too = self.covers_lower
        return next((one for one in answers if answers_for(one, asked, lower_too=lower_too)), None)

    def layout_for(self, asked: BoxQuestion) -> Found:
        """The known layout with the fewest parts that answers a question."""
        return min(self._fitting(asked), key=lambda found: found.layout.part_count)

    def _fitting(self, asked: BoxQuestion) -> Iterator[Found]:
        for question, found in self.found.items():
            delay = found.verdict.delay
            meets = question.delay if delay is None else delay
            few = asked.parts is None or found.layout.part_count <= asked.parts
            if question.size == asked.size and meets <= asked.delay and few:
                yield found

    def best(self) -> Found | None:
        """The best layout by the measures, or None."""
        return min(self.found.values(), key=self.score, default=None)

    def score(self, found: Found) -> tuple[int, ...]:
        """The measures of a layout in their order: less is better."""
        layout, delay = found.layout, found.verdict.delay
        values = (measured(layout, delay, name) for name in self.problem.measures)
        return tuple(value if value is not None else 0 for value in values)

    def bound(self, candidates: Iterable[BoxQuestion]) -> int | None:
        """The least value of the first measure that is not ruled out.

        None if that measure is ``parts``, which no box decides, or if everything is ruled out.

        Args:
            candidates: every question within the limits, in the order of the measures.
        """
        measure = self.problem.measures[0]
        if measure == "parts":
            return None
        first = next((asked for asked in candidates if self.known(asked) is not False), None)
        return None if first is None else first.measure(measure)

    # Cubes

    def cubes(self, asked: BoxQuestion) -> list[Cube]:
        """The cubes of a question."""
        if asked not in self._cubes:
            self._cubes[asked] = split(self.problem.formula(asked, self.without))
        return self._cubes[asked]

    def closed(self, asked: BoxQuestion) -> set[Cube]:
        """The cubes of a question that are known to hold no layout."""
        return self._closed.get(asked, set())

    # New answers

    def rule_out(self, asked: BoxQuestion, cube: Cube | None = None) -> None:
        """Note that a question, or a cube of it, has no layout."""
        if cube is not None:
            closed = self._closed.setdefault(asked, set())
            closed.add(cube)
            cubes = self.cubes(asked)
            if not closed.issuperset(cubes):
                return
            self.splits[asked] = tuple(cubes)
        self.ruled_out.add(asked)
        self._ruled_out_on.setdefault(asked.size[:2], []).append(asked)

    def prove(self, proven: Proven) -> None:
        """Note the evidence of a "no layout"."""
        self.proven[proven.question, proven.cube] = proven
        if self.kept is not None:
            self.kept.note(proven)

    def keep(self, asked: BoxQuestion, found: Found) -> bool:
        """Keep a layout if it is the best for its box and delay; returns whether it is."""
        before = self.found.get(asked.any_parts)
        better = before is None or found.layout.part_count < before.layout.part_count
        if better:
            self.found[asked.any_parts] = found
        return better

    def write_down(self, answer: BoxAnswer) -> None:
        """Keep an answer in the journal, if there is one."""
        if self.journal is not None:
            self.journal.note(answer)

    def leave_open(self, asked: BoxQuestion, reason: str) -> None:
        """Note why a box and delay is undecided."""
        self.open[asked.any_parts] = reason

    def is_open(self, asked: BoxQuestion) -> bool:
        """Whether a question was asked and left undecided."""
        return asked.any_parts in self.open

    def close(self, asked: BoxQuestion) -> None:
        """Note that a box and delay is no longer undecided."""
        self.open.pop(asked.any_parts, None)
        self.slow.discard(asked.any_parts)

    def slow_down(self, asked: BoxQuestion, reason: str) -> None:
        """Note that a question used up its share of the time."""
        self.leave_open(asked, reason)
        self.slow.add(asked.any_parts)

    def return_to_slow(self, candidates: Iterable[BoxQuestion]) -> bool:
        """Let slow questions be asked again, as hard ones; returns whether there are any."""
        slow = {asked.any_parts for asked in candidates} & self.slow
        self.hard |= slow
        self.slow -= slow
        for question in slow:
            del self.open[question]
        return bool(slow)

    def is_hard(self, asked: BoxQuestion) -> bool:
        """Whether a question used up its share of the time before."""
        return asked.any_parts in self.hard
