"""The least delay of a chain's links (section 11), as one of the measures.

No box decides it, so it orders no boxes: it is a limit that is made less, one search after another,
until none has a layout. Measures that come before it are decided first and then hold as limits;
among the layouts of least link delay those that come after it decide.
"""

from __future__ import annotations

import time
from collections.abc import Callable, Iterable
from dataclasses import replace

from synth.bounds import least_link_delay
from synth.errors import InputError
from synth.questions.box import BoxAnswer
from synth.questions.journal import Journal
from synth.questions.measures import LINK, limit_on, measure_of
from synth.questions.outcome import Outcome, Status
from synth.questions.problem import Problem
from synth.spec import Limits
from synth.words import ticks

SHARE = 0.3
"""The share of the time left that one search may take while a layout is known: later ones, under a
tighter limit, tell more."""

Search = Callable[[Problem, float | None, Journal], Outcome]
"""Answers a problem within so many seconds; the journal has what is known of its boxes."""


def require_chain(measures: Iterable[str], problem: Problem) -> None:
    """Refuse to minimise the delay of links where there are none.

    Raises:
        InputError: if ``link`` is a measure and the specification has no chain.
    """
    if LINK in measures and not problem.spec.chain:
        raise InputError(
            "the specification has no chain, so there are no links that could be late",
            place="minimize",
            way_out="say what each copy hands to the next (--chain), or use another measure",
        )


def least_link(
    problem: Problem,
    search: Search,
    known: Iterable[BoxAnswer] = (),
    time_limit_s: float | None = None,
) -> Outcome:
    """The best layout by the measures of a problem, of which one is ``link``.

    Args:
        problem: what is asked, with the limits in force.
        search: answers a problem without that measure.
        known: answers about boxes, under the limits in force.
        time_limit_s: seconds for all searches together.

    Returns:
        The last outcome that has a layout, with a claim or reason about all of them, and the time
        that all of them took.
    """
    began = time.monotonic()
    outcome = _LeastLink(problem, search, known, time_limit_s).outcome()
    return replace(outcome, stats=replace(outcome.stats, seconds=time.monotonic() - began))


def without_search(problem: Problem) -> Outcome | None:
    """*Impossible* where links must be sooner than they can be in any slice; else None."""
    most, least = problem.limits.link_delay, least_link_delay(problem.spec)
    if most is None or most >= least.ticks:
        return None
    return Outcome(
        Status.IMPOSSIBLE,
        reason=least.words,
        advice=(f"a link delay of {ticks(least.ticks)} is the least that is not ruled out",),
        measures=problem.measures,
    )


def tightened(own: Limits, in_force: Limits, measures: tuple[str, ...]) -> Limits:
    """The user's own limits, with what was decided of ``link`` and of the measures before it."""
    decided = measures[: measures.index(LINK) + 1]
    return replace(own, **{limit_on(name): getattr(in_force, limit_on(name)) for name in decided})


class _LeastLink:
    def __init__(
        self,
        problem: Problem,
        search: Search,
        known: Iterable[BoxAnswer],
        time_limit_s: float | None,
    ) -> None:
        at = problem.measures.index(LINK)
        self.asked = problem.measures
        self.before, self.after = self.asked[:at], self.asked[at + 1 :]
        self.problem = problem
        self.search = search
        self.deadline = None if time_limit_s is None else time.monotonic() + time_limit_s
        # What has no layout has none under tighter limits; layouts are judged anew in each search.
        self.known = Journal({}, entries=list(known))

    def outcome(self) -> Outcome:
        """Decide the measures before, then the links, the measures after along with them."""
        claims = []
        if self.before:
            first = self._search(replace(self.problem, measures=self.before), whole=True)
            if first.status is not Status.FOUND:
                return replace(first, measures=self.asked)
            claims.append(first.claim)
            self.problem = self.problem.under(self._held(first))
        self.problem = replace(self.problem, measures=self.after or ("volume",))
        best = self._search(self.problem, whole=False)
        if best.layout is None and best.status is Status.UNDECIDED and self.deadline is not None:
            # As long as no layout is known there is nothing to save time for.
            best = self._search(self.problem, whole=True)
        if best.status is Status.REFUSED:
            return replace(best, measures=self.asked)
        if best.layout is None:
            return self._without_layout(best)
        return self._lowered(best, claims)

    def _without_layout(self, ended: Outcome) -> Outcome:
        """An answer without a layout; what is known of the least link delay holds all the same."""
        if self.before or ended.status is Status.IMPOSSIBLE:
            return replace(ended, measures=self.asked)
        least = least_link_delay(self.problem.spec)
        reason = ended.reason
        if least.ticks > 0:
            reason = f"{least.words}; {reason}"
        return self._ended(ended, Status.UNDECIDED, least.ticks, reason=reason)

    def _held(self, first: Outcome) -> Limits:
        """The limits, with the values of the measures decided."""
        assert first.layout is not None
        assert first.verdict is not None
        values = {name: measure_of(first.layout, first.verdict, name) for name in self.before}
        return replace(self.problem.limits, **values)

    def _lowered(self, best: Outcome, claims: list[str]) -> Outcome:
        """Ask for one tick less until there is no layout, or none can have less."""
        least = least_link_delay(self.problem.spec)
        while (link := _link_of(best)) > least.ticks:
            at_this = list(self.known.entries)
            lower = self.problem.under(replace(self.problem.limits, link_delay=link - 1))
            answer = self._search(lower, whole=False)
            if answer.status is Status.REFUSED:
                return replace(answer, measures=self.asked)
            if answer.layout is not None:
                best = answer
                continue
            if answer.status is Status.IMPOSSIBLE:
                self.known = Journal({}, entries=at_this)
                claims.append(f"smallest by link {link}: {answer.reason}")
                return self._settled(best, link, claims)
            reason = f"link {link} so far; whether less is possible is open: {answer.reason}"
            reasons = "; ".join([*claims, reason])
            return self._ended(best, Status.UNDECIDED, least.ticks, reason=reasons)
        why = least.reason or "no delay is less"
        claims.append(f"smallest by link {link} in the whole medium: {why}")
        return self._settled(best, link, claims)

    def _settled(self, best: Outcome, link: int, claims: list[str]) -> Outcome:
        """The least link delay is known; so may be the measures after it."""
        if self.after and best.status is Status.UNDECIDED:
            limits = replace(self.problem.limits, link_delay=link)
            again = self._search(self.problem.under(limits), whole=True)
            best = again if again.layout is not None else best
        if self.after and best.status is Status.UNDECIDED:
            reason = "; ".join([*claims, f"after that, {best.reason}"])
            return self._ended(best, Status.UNDECIDED, link, reason=reason)
        if self.after:
            claims.append(f"after that, {best.claim}")
        return self._ended(best, Status.FOUND, link, claim="; ".join(claims))

    def _ended(
        self, best: Outcome, status: Status, bound: int, *, reason: str = "", claim: str = ""
    ) -> Outcome:
        stats = best.stats if self.before else replace(best.stats, bound=bound)
        return replace(
            best,
            status=status,
            reason=reason,
            claim=claim,
            parts=best.parts if status is Status.FOUND and self.after else "",
            stats=stats,
            measures=self.asked,
        )

    def _search(self, problem: Problem, *, whole: bool) -> Outcome:
        """Search within the time left or, unless it is the whole, a share of it."""
        left_s = None
        if self.deadline is not None:
            left_s = max(0.0, self.deadline - time.monotonic()) * (1.0 if whole else SHARE)
        return self.search(problem, left_s, self.known)


def _link_of(outcome: Outcome) -> int:
    assert outcome.verdict is not None
    assert outcome.verdict.link_delay is not None
    return outcome.verdict.link_delay
