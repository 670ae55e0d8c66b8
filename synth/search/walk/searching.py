"""One search from its first question to its outcome, with its events and its certificate."""

from __future__ import annotations

import time
from collections.abc import Callable
from contextlib import ExitStack
from dataclasses import replace

from synth.bounds import DelayBound
from synth.layout import Layout
from synth.proofs.certificate import CertificateFolder, how_made
from synth.questions.box import BoxQuestion
from synth.questions.cover import Claim
from synth.questions.events import (
    BestImproved,
    BoundRaised,
    BoxEnded,
    Event,
    Reporter,
    SearchEnded,
    SearchStarted,
    Silent,
    TimeLeft,
)
from synth.questions.journal import Journal
from synth.questions.measures import known_measures
from synth.questions.outcome import Outcome, Status
from synth.questions.problem import Problem
from synth.search.above.from_above import FromAbove
from synth.search.walk.above import LOOK_S
from synth.search.walk.claims import refusal, statistics
from synth.search.walk.estimate import Estimate
from synth.search.walk.fewest import Fewest, fewest_parts
from synth.search.walk.first_layout import first_layout
from synth.search.walk.ledger import Ledger
from synth.search.walk.narrowing import smallest
from synth.search.walk.questioner import Questioner
from synth.search.walk.rounds import OutOfTime
from synth.search.walk.shares import Walk
from synth.search.walk.too_fast import ClaimsWithDelay, relied_on, too_fast
from synth.search.workers.crew import Crew
from synth.search.workers.judged import Found, Refused
from synth.search.workers.settings import Settings
from synth.spec import Limits

ABOVE_WAITS_S = 1.0
"""Seconds for which the walk has all workers before a process from above begins. Starting one takes
0.3 seconds of a processor, whatever is asked, and the walk decides small questions in that time.
"""


def search(
    problem: Problem,
    settings: Settings,
    *,
    candidates: list[BoxQuestion] | None = None,
    time_limit_s: float | None = None,
    reporter: Reporter | None = None,
    journal: Journal | None = None,
    folder: CertificateFolder | None = None,
    crew: Crew | None = None,
    fewest: bool = False,
    own: Limits | None = None,
    starts: tuple[Layout, ...] = (),
    shared: bool = False,
) -> Outcome:
    """Answer a problem; ``synth.search.walk.solve.solve`` explains the other arguments.

    Args:
        candidates: the questions to consider, in order; None means all within the limits.
        folder: the folder of the certificate; ``settings.evidence`` then lies in it.
        fewest: whether to reduce parts in the box found (``synth.search.walk.fewest``).
        own: the limits that the user gave; None means all that are in force. A layout from above
            may exceed those that were assumed.
        starts: right layouts with the pins of the problem, to shrink.
        shared: whether the time limit is only a share of what the user gave.

    Returns:
        The outcome, without assumptions and advice.
    """
    asked = problem.candidates() if candidates is None else candidates
    timed = _Timed(reporter, len(asked))
    deadline = None if time_limit_s is None else time.monotonic() + time_limit_s
    status = "stopped"
    try:
        with ExitStack() as stack:
            hired = crew or stack.enter_context(Crew(settings.workers))
            kept = None
            if folder is not None:
                kept = folder.keep_proofs(problem, settings.solver, settings.seed)
            ledger = Ledger(problem, settings.without, journal, kept)
            mine = own or problem.limits
            # No layout of any size is found for a delay that none meets.
            hopeless = mine.delay is not None and mine.delay < ledger.least_delay.ticks
            seconds = None if hopeless else time_limit_s
            above = _from_above(problem, settings, mine, seconds, timed, stack, starts)
            walk = Walk(Questioner(ledger, settings, hired, timed, above), deadline)
            walk.questioner.take_gains()
            timed.bound = lambda: ledger.bound(asked)
            timed.measure = problem.measures[0]
            timed.estimate = Estimate(ledger, asked, settings.workers, deadline)
            placing = time_limit_s is not None and not ledger.found
            if placing and _places_first(settings, problem, above):
                first_layout(walk, asked, time_limit_s or 0.0)
            late = _late(time_limit_s, shared)
            outcome = _outcome(walk, asked, time_limit_s, late, fewest=fewest)
            if outcome.status is Status.UNDECIDED and (_waited_for_gains(walk) or walk.stood_back):
                outcome = _outcome(walk, asked, time_limit_s, late, fewest=fewest)
            if above is not None:
                outcome = _with_best_from_above(outcome, above)
            outcome = _kept_with_purpose(problem, outcome)
        if folder is not None and outcome.status is not Status.REFUSED:
            _certify(folder, outcome, ledger, settings, relied_on(ledger, asked))
        status = str(outcome.status)
    finally:
        timed.close(status)
    stats = statistics(walk.questioner, asked, timed.seconds)
    stats = replace(stats, questions_too_fast=too_fast(ledger, asked))
    return replace(outcome, stats=stats, measures=problem.measures)


def _from_above(
    problem: Problem,
    settings: Settings,
    own: Limits,
    time_limit_s: float | None,
    reporter: Reporter,
    stack: ExitStack,
    starts: tuple[Layout, ...],
) -> FromAbove | None:
    """The search from above, beside the walk: only under a time limit, and unless it is left out.

    It changes no answer: it tells the walk where it may stop, and the walk asks about every
    candidate before that as it would have done anyway.
    """
    if time_limit_s is None or "above" in settings.without:
        return None

    def beyond(found: Found) -> None:
        layout = found.layout
        reporter.event(BestImproved(layout.size, found.verdict.delay, layout.part_count))

    seed = settings.seed
    waits_s = ABOVE_WAITS_S if settings.workers > 1 else 0.0
    above = FromAbove(
        problem, own, starts, time_limit_s=time_limit_s, seed=seed, beyond=beyond, waits_s=waits_s
    )
    return stack.enter_context(above)


def _waited_for_gains(walk: Walk) -> bool:
    """Wait for layouts from above while there is time; returns whether any came."""
    questioner, deadline = walk.questioner, walk.deadline
    questioner.above.rest(False)
    gained = questioner.take_gains()
    while questioner.above.busy and (deadline is None or time.monotonic() < deadline):
        time.sleep(LOOK_S)
        gained = questioner.take_gains() or gained
    return gained


def _with_best_from_above(outcome: Outcome, above: FromAbove) -> Outcome:
    """Give an outcome without a layout the best one that keeps the user's own limits.

    What is impossible under limits that were only assumed is then no longer called impossible.
    """
    above.gains()
    best = above.best
    if best is None or outcome.layout is not None or outcome.status is Status.REFUSED:
        if outcome.layout is None and outcome.status is Status.UNDECIDED:
            said = above.composition.describe()
            return replace(outcome, reason=f"{outcome.reason}; by construction: {said}")
        return outcome
    beyond = "the layout shown is larger than the limits that were assumed"
    reason = f"{outcome.reason}; {beyond}"
    return replace(
        outcome,
        status=Status.UNDECIDED,
        layout=best.layout,
        verdict=best.verdict,
        reason=reason,
    )


def _places_first(settings: Settings, problem: Problem, above: FromAbove | None) -> bool:
    """Whether to look first for a layout of known structure; its parts need not be the fewest.

    It changes no answer: such a layout only tells the walk where it may stop, and the walk asks
    about every candidate before that as it would have done anyway. What comes from above places
    known networks beside the walk, which can then begin at once; but not where the specification
    names cells.
    """
    named = bool(problem.spec.empty or problem.spec.fixed)
    if "structure" in settings.without or problem.measures[0] == "parts":
        return False
    return above is None or named


def _late(time_limit_s: float | None, shared: bool) -> str:
    """Why a search ended that the time was too short for."""
    if time_limit_s is None:
        return ""
    if shared:
        return f"its share of the time, {time_limit_s:.3g} seconds, was used up"
    return f"the time limit of {time_limit_s:g} seconds was reached"


def _outcome(
    walk: Walk,
    candidates: list[BoxQuestion],
    time_limit_s: float | None,
    late: str,
    *,
    fewest: bool,
) -> Outcome:
    ledger = walk.ledger
    parts = ""
    claims = ClaimsWithDelay(ledger, walk.questioner.settings, candidates)
    try:
        best = smallest(walk, ledger.problem.measures, candidates)
        decided = not ledger.open or claims.hold_for(best)
        if best is not None and decided and fewest:
            few = fewest_parts(walk, best, time_limit_s)
            best, parts = few.found, few.sentence()
    except OutOfTime:
        best = ledger.best()
        decided = True
        if best is None or not claims.hold_for(best):
            return _undecided(best, f"{late}; {claims.progress()}")
        parts = Fewest(best, excluded=False).sentence() if fewest else ""
    except Refused as refused:
        reason = refusal(refused.verdict)
        return Outcome(Status.REFUSED, refused.layout, refused.verdict, reason)
    if not decided:
        return _undecided(best, claims.progress())
    if best is None:
        return Outcome(Status.IMPOSSIBLE, reason=claims.impossible())
    claim = claims.smallest(best)
    return Outcome(Status.FOUND, best.layout, best.verdict, claim=claim, parts=parts)


def _kept_with_purpose(problem: Problem, outcome: Outcome) -> Outcome:
    """The outcome, its layout with the function and delay that it was made for."""
    if outcome.layout is None or outcome.verdict is None:
        return outcome
    purpose = problem.made_for(outcome.verdict.delay)
    return replace(outcome, layout=outcome.layout.replace(made_for=purpose))


def _undecided(best: Found | None, reason: str) -> Outcome:
    layout, verdict = (best.layout, best.verdict) if best else (None, None)
    return Outcome(Status.UNDECIDED, layout, verdict, reason)


def _certify(
    folder: CertificateFolder,
    outcome: Outcome,
    ledger: Ledger,
    settings: Settings,
    least_delay: DelayBound,
) -> None:
    """Write the certificate of an answer; of an undecided search, that of the boxes ruled out."""
    layout = outcome.layout if outcome.status is Status.FOUND else None
    values: dict[str, int] = {}
    if layout is not None and outcome.verdict is not None:
        values = known_measures(layout, outcome.verdict.delay, ledger.problem.measures)
    claim = Claim(outcome.status, ledger.problem, values)
    made = how_made(settings.solver, settings.seed)
    folder.finish(
        claim, ledger.proven.values(), ledger.splits, layout, made, least_delay=least_delay
    )


class _Timed:
    """Passes events on, reports the bound as it rises, and closes the search, even on failure."""

    def __init__(self, reporter: Reporter | None, questions: int) -> None:
        self.reporter = reporter or Silent()
        self.began = time.perf_counter()
        self.bound: Callable[[], int | None] | None = None
        self.measure = ""
        self.estimate: Estimate | None = None
        self._last: int | None = None
        self.reporter.event(SearchStarted(questions))

    def event(self, event: Event) -> None:
        """Pass an event on, and report the bound if it has risen."""
        self.reporter.event(event)
        if isinstance(event, BoxEnded) and self.estimate is not None:
            left_s = self.estimate.note(event)
            if left_s is not None:
                self.reporter.event(TimeLeft(left_s))
        if self.bound is not None and isinstance(event, BoxEnded) and event.answer == "impossible":
            bound = self.bound()
            if bound is not None and bound != self._last:
                self._last = bound
                self.reporter.event(BoundRaised(self.measure, bound))

    @property
    def seconds(self) -> float:
        """The seconds since the search began."""
        return time.perf_counter() - self.began

    def close(self, status: str) -> None:
        """Report that the search is over."""
        self.reporter.event(SearchEnded(status, self.seconds))
