"""The frontier of two measures: for each value of the second, the smallest first.

It takes one search for each step, from the largest value of the second measure down. The layout
that a search finds says where the next search begins: just below the layout's own value. All
searches share one crew and every answer about a box: a box that has no layout within a delay has
none within a shorter one, and a layout answers every question whose limits it keeps.
"""

from __future__ import annotations

import time
from collections.abc import Callable, Iterable, Iterator
from contextlib import ExitStack
from dataclasses import dataclass, field, replace

from synth import defaults
from synth.bounds import least_link_delay
from synth.errors import InputError
from synth.layout import Layout
from synth.medium import DEFAULT_RULES, Rules
from synth.questions.box import BoxAnswer, BoxQuestion
from synth.questions.candidates import assumed_for, assumed_time
from synth.questions.cover import Claim, needs
from synth.questions.events import Reporter
from synth.questions.journal import Journal
from synth.questions.measures import LINK, limit_on, measured
from synth.questions.memory import Memory
from synth.questions.outcome import Outcome, Status
from synth.questions.problem import Problem
from synth.search.frontier.axes import largest_value, least_value, parse_axes
from synth.search.frontier.curve import Curve, Known, Standing, Step
from synth.search.frontier.ruled_out import RuledOut
from synth.search.walk.searching import search
from synth.search.walk.solve import require_feasible
from synth.search.workers.crew import Crew
from synth.search.workers.settings import Settings
from synth.showing import Shows
from synth.simulator import check
from synth.simulator.verdict import Verdict
from synth.spec import Spec

DEFAULT_AXES = defaults.AXES

SHARES = 4
"""At first a search may use one part in this many of the time that is left."""

LEAST_TIME_S = 0.5
"""With less time left than this, in seconds, no search is begun."""

PASSES = 3
"""How often a step that stays undecided is tried, while time is left."""

DECIDED = (Status.FOUND, Status.IMPOSSIBLE)


@dataclass(frozen=True)
class StepSearch:
    """An event: a search for one step begins, or ends with its outcome.

    Attributes:
        spec: what is asked, including the limit on the second measure.
        axes: the two measures.
        at: that limit.
        outcome: the outcome; None when the search begins.
        remembered: whether the answer came from the memory.
    """

    spec: Spec
    axes: tuple[str, str]
    at: int
    outcome: Outcome | None = None
    remembered: bool = False


Watcher = Callable[[StepSearch], None]


@dataclass(frozen=True)
class Frontier(Shows):
    """What is known about one measure against another.

    Attributes:
        spec: what was asked, with limits that were assumed.
        axes: the two measures.
        steps: for every value of the second measure the smallest first one, from the least value
            up, without gaps; see ``synth.search.frontier.curve.Step``.
        points: the steps at which the best known value of the first measure drops.
        assumed: what was assumed because the specification left it open, one phrase each.
        refused: a layout that the search found and the simulator rejects, or None.
        stats: ``searches``, ``remembered`` (searches that the memory answered), ``questions``
            (about single boxes), ``seconds``, ``solver``, ``seed``.
        rules: the rule table that it was found with.
    """

    spec: Spec
    axes: tuple[str, str]
    steps: tuple[Step, ...]
    points: tuple[Step, ...]
    assumed: tuple[str, ...] = ()
    refused: Outcome | None = None
    stats: dict[str, int | float | str] = field(default_factory=dict)
    rules: Rules = DEFAULT_RULES

    @property
    def complete(self) -> bool:
        """Whether every step is decided."""
        return all(step.standing.decided for step in self.steps)

    @property
    def status(self) -> Status:
        """Found: complete; impossible: no layout at all; undecided; refused."""
        if self.refused is not None:
            return Status.REFUSED
        if not self.complete:
            return Status.UNDECIDED
        return Status.FOUND if self.points else Status.IMPOSSIBLE


def frontier(
    spec: Spec,
    *,
    axes: Iterable[str] = DEFAULT_AXES,
    memory: Memory | None = None,
    settings: Settings | None = None,
    rules: Rules = DEFAULT_RULES,
    time_limit_s: float | None = None,
    reporter: Reporter | None = None,
    watcher: Watcher | None = None,
) -> Frontier:
    """Find the smallest first measure for every value of the second.

    Args:
        spec: the specification; the search goes up to its limit on the second measure. Limits that
            it leaves open are assumed, as ``synth.search.walk.solve`` does.
        axes: two different measures of ``synth.questions.measures.MEASURES``.
        memory: gives answers to start from, and keeps new ones.
        settings: how to search; its ``evidence`` is not used.
        rules: the rule table.
        time_limit_s: seconds for the whole frontier; steps undecided by then have a bound and the
            best layout so far.
        reporter: gets the events of every question about a box.
        watcher: gets an event at the beginning and at the end of every search.

    Raises:
        InputError: for measures, limits or cells that cannot be used, or for a memory that
            contradicts what is found.
    """
    survey = Survey(spec, axes, memory, settings, rules, time_limit_s, reporter, watcher)
    survey.run()
    return survey.frontier()


class Survey:
    """The search for a frontier, which can be stopped at any moment and then says what it knows.

    Arguments and errors: see ``frontier``.
    """

    def __init__(
        self,
        spec: Spec,
        axes: Iterable[str] = DEFAULT_AXES,
        memory: Memory | None = None,
        settings: Settings | None = None,
        rules: Rules = DEFAULT_RULES,
        time_limit_s: float | None = None,
        reporter: Reporter | None = None,
        watcher: Watcher | None = None,
    ) -> None:
        limits, assumed = assumed_for(spec)
        self.time_limit_s, self.assumed = assumed_time(time_limit_s, assumed)
        require_feasible(spec, rules)
        self.spec = spec.replace(limits=limits)
        self.rules = rules
        self.axes = parse_axes(axes)
        self.first, self.second = self.axes
        if self.second == LINK and not spec.chain:
            raise InputError(
                "the specification has no chain, so there are no links that could be late",
                place="axes",
                way_out="say what each copy hands to the next (--chain), or use another measure",
            )
        if (spec.empty or spec.fixed) and self.second not in ("delay", "parts", LINK):
            raise InputError(
                f"the specification names cells, so there is only one {self.second}",
                place="axes",
                way_out="use delay or parts as the second measure, or name no cells",
            )
        self.memory = memory
        self.settings = settings or Settings()
        self.reporter = reporter
        self.watcher = watcher
        low, least = least_value(self.second), least_value(self.first)
        self.curve = Curve(self.axes, least, low, largest_value(limits, self.second))
        if self.second == LINK:
            self._rule_out_links()
        self.refused: Outcome | None = None
        self.ruled_out = RuledOut()
        self.searches = self.remembered = self.questions = 0
        self._tried: dict[int, int] = {}
        self._read: set[tuple[int | None, int | None]] = set()
        self._began = time.monotonic()

    def _rule_out_links(self) -> None:
        """Note the delays of links that no slice has (``synth.bounds.link``)."""
        least = least_link_delay(self.spec)
        if least.ticks > 0:
            self.curve.show(least.ticks - 1, None, least.words)

    def frontier(self) -> Frontier:
        """What is known so far."""
        return Frontier(
            self.spec,
            self.axes,
            tuple(self.curve.steps()),
            tuple(self.curve.points()),
            self.assumed,
            self.refused,
            {
                "searches": self.searches,
                "remembered": self.remembered,
                "questions": self.questions,
                "seconds": round(time.monotonic() - self._began, 3),
                "solver": self.settings.solver,
                "seed": self.settings.seed,
            },
            self.rules,
        )

    def run(self) -> None:
        """Search until all steps are decided or the time is up."""
        self._began = time.monotonic()
        with ExitStack() as stack:
            crew = stack.enter_context(Crew(self.settings.workers))
            for number in range(PASSES):
                while (at := self._next(number)) is not None:
                    share_s = self._share_s(at, number)
                    if share_s is not None and share_s < LEAST_TIME_S:
                        return
                    self._tried[at] = number
                    self._ask(at, share_s, crew)
                    if self.refused is not None:
                        return
                if self.time_limit_s is None:
                    return  # Without a time limit, a step that is undecided stays so.

    def _next(self, number: int) -> int | None:
        """The largest value that is worth a search in this pass; None if there is none."""
        for step in reversed(self.curve.steps()):
            if step.standing.decided:
                continue
            if self._due(step.last, number):
                return step.last
            if step.standing is Standing.OPEN:
                # No layout was found that would say where to go on, so go half way down.
                tried = min(at for at in range(step.first, step.last + 1) if at in self._tried)
                half = (step.first + tried) // 2
                if half < tried and self._due(half, number):
                    return half
        return None

    def _due(self, at: int, number: int) -> bool:
        return self._tried.get(at, -1) < number

    def _share_s(self, at: int, number: int) -> float | None:
        """The seconds that the next search may take."""
        if self.time_limit_s is None:
            return None
        left = max(0.0, self.time_limit_s - (time.monotonic() - self._began))
        if number == 0:
            return left / min(at - self.curve.low + 1, SHARES)
        due = [step for step in self.curve.steps() if not step.standing.decided]
        return left / max(1, sum(self._due(step.last, number) for step in due))

    def _ask(self, at: int, share_s: float | None, crew: Crew) -> None:
        """Find the smallest first measure while the second is at most ``at``."""
        problem = self.problem_at(at)
        spec = problem.spec
        self._watch(StepSearch(spec, self.axes, at))
        self.searches += 1
        outcome = self._recall(problem, at)
        remembered = outcome is not None
        if outcome is None:
            outcome = self._solve(problem, at, share_s, crew)
            if self.memory is not None and self.refused is None:
                self.memory.keep(problem, outcome)
        self.remembered += remembered
        self._watch(StepSearch(spec, self.axes, at, outcome, remembered))

    def problem_at(self, at: int) -> Problem:
        """The smallest first measure with the second at most ``at``."""
        problem = Problem(self.spec, (self.first,), self.rules)
        if at >= self.curve.top:
            return problem
        return problem.under(replace(self.spec.limits, **{limit_on(self.second): at}))

    def _recall(self, problem: Problem, at: int) -> Outcome | None:
        """The memory's answer if it is decided; whatever else it knows is noted."""
        if self.memory is None:
            return None
        outcome = self.memory.known(problem)
        if outcome is not None:
            self._note(outcome, at)
            if outcome.status in DECIDED:
                self._unfold(problem, outcome)
                return outcome
        kind = (problem.limits.parts, problem.limits.link_delay)
        if kind not in self._read:
            self._read.add(kind)
            self.ruled_out.keep(problem, self.memory.recall_boxes(problem))
        return None

    def _solve(self, problem: Problem, at: int, share_s: float | None, crew: Crew) -> Outcome:
        known = [*self.ruled_out.under(problem), *self._layouts()]
        journal = Journal({}, entries=list(known))
        outcome = None
        try:
            outcome = search(
                problem,
                self.settings,
                time_limit_s=share_s,
                reporter=self.reporter,
                journal=journal,
                crew=crew,
                shared=True,
            )
        finally:
            # This also runs when the user interrupts the search, so that no answer is lost.
            self._learn(problem, journal.entries[len(known) :])
            if outcome is None:
                self._draw_bound(problem, at)
        self.questions += outcome.stats.questions
        self._note(outcome, at)
        return outcome

    def _layouts(self) -> Iterator[BoxAnswer]:
        """Every known layout, as answers about single boxes."""
        for known in self.curve.layouts:
            assert known.verdict.delay is not None
            question = BoxQuestion(known.layout.size, known.verdict.delay)
            yield BoxAnswer(question, known.layout)

    def _learn(self, problem: Problem, answers: Iterable[BoxAnswer]) -> None:
        """Take note of new answers about single boxes."""
        answers = list(answers)
        self.ruled_out.keep(problem, answers)
        for entry in answers:
            if entry.layout is not None:
                delay = entry.question.delay
                verdict = check(entry.layout, problem.spec, delay=delay, rules=self.rules)
                if verdict.passes:
                    self.curve.add(self._with_purpose(entry.layout, verdict), verdict)
        if self.memory is not None:
            self.memory.keep_boxes(problem, answers)

    def _unfold(self, problem: Problem, outcome: Outcome) -> None:
        """Note the boxes that a remembered answer rules out, for later steps."""
        values = {}
        if outcome.layout is not None and outcome.verdict is not None:
            value = measured(outcome.layout, outcome.verdict.delay, self.first)
            values = {} if value is None else {self.first: value}
        for need in needs(Claim(outcome.status, problem, values)):
            self.ruled_out.keep(problem, [BoxAnswer(need, None)])

    def _draw_bound(self, problem: Problem, at: int) -> None:
        """Note the bound that ruled out boxes give for a step whose search was stopped."""
        bound = self.ruled_out.bound(problem, self.first)
        if bound is not None:
            self.curve.show(at, bound, f"stopped; no layout of {self.first} below {bound}")

    def _note(self, outcome: Outcome, at: int) -> None:
        """Take note of what a search found and showed."""
        if outcome.status is Status.REFUSED:
            self.refused = outcome
            return
        known: Known | None = None
        if outcome.layout is not None and outcome.verdict is not None:
            layout = self._with_purpose(outcome.layout, outcome.verdict)
            known = self.curve.add(layout, outcome.verdict)
        if outcome.status is Status.IMPOSSIBLE:
            self.curve.show(at, None, outcome.reason)
        elif outcome.status is Status.FOUND:
            assert known is not None
            self.curve.show(at, known.value, outcome.claim)
        else:
            bound = outcome.bound
            if bound is not None:
                self.curve.show(at, bound, outcome.reason)
        fault = self.curve.contradiction()
        if fault is not None:
            raise InputError(
                f"two answers contradict each other: {fault}",
                way_out="if one came from a store, 'gatefit library verify' checks the store; "
                "if not, this is a bug: please report it",
            )

    def _with_purpose(self, layout: Layout, verdict: Verdict) -> Layout:
        """A layout with what it was made for; if delay is an axis, with its own delay."""
        problem = Problem(self.spec, self.axes, self.rules)
        return layout.replace(made_for=problem.made_for(verdict.delay))

    def _watch(self, asking: StepSearch) -> None:
        if self.watcher is not None:
            self.watcher(asking)
