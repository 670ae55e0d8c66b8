"""An answer as the store keeps it, and which of two says more."""

from __future__ import annotations

from dataclasses import dataclass, replace

import synth
from synth.layout import Layout
from synth.library.asked import Naming
from synth.search.measures import measured
from synth.search.outcome import Outcome, Status


class Contradiction(Exception):
    """Two answers that cannot both be right."""


@dataclass(frozen=True)
class Answer:
    """What is known of a question, in canonical names.

    Attributes:
        status: found, impossible or undecided.
        proven: whether it is an answer for good: the smallest, or impossible.
        layout: the layout found, or the best so far of an undecided search.
        delay: the delay that the layout meets, in ticks.
        bound: of an undecided search: the least value of the first measure not ruled out.
        claim: what is claimed, or why it is undecided.
        proof: what a claim rests on.
        solver, seed, seconds, version, made: how, how long in all, by which version, which day
            (empty: the day it is kept).
    """

    status: Status
    proven: bool
    layout: Layout | None
    delay: int | None = None
    bound: int | None = None
    claim: str = ""
    proof: str | None = None
    solver: str = ""
    seed: int = 0
    seconds: float = 0.0
    version: str = synth.__version__
    made: str = ""

    @staticmethod
    def of(
        outcome: Outcome, naming: Naming, minimize: tuple[str, ...], proof: str | None = None
    ) -> Answer:
        """What a search's outcome says."""
        decided = outcome.status in (Status.FOUND, Status.IMPOSSIBLE)
        stats = outcome.stats
        solver = str(stats.get("solver", ""))
        return Answer(
            status=outcome.status,
            proven=decided,
            layout=None if outcome.layout is None else naming.to_canonical(outcome.layout),
            delay=None if outcome.verdict is None else outcome.verdict.delay,
            bound=None if decided else stats.get("bound"),
            claim=outcome.claim or outcome.reason,
            proof=(proof or f"answers of {solver}, no proof kept") if decided else None,
            solver=solver,
            seed=int(stats.get("seed", 0)),
            seconds=float(stats.get("seconds", 0.0)),
        )


def better_of(before: Answer, new: Answer, measure: str) -> Answer:
    """What is known after a second answer to the same question.

    - A decided answer stays decided. A second one changes it only by a better layout (fewer
      parts: the measures of two smallest ones are the same) or by a proof where none was kept.
    - Of two undecided ones the better layout and the higher bound stay, seconds add up.

    Raises:
        Contradiction: if one says found and the other impossible, or a layout is smaller than
            what is proven to be the smallest.
    """
    if before.proven and new.proven:
        return _better_decided(before, new, measure)
    if before.proven or new.proven:
        decided, other = (before, new) if before.proven else (new, before)
        _require_agreement(decided, other, measure)
        if decided is before:
            return before
        return replace(decided, seconds=before.seconds + new.seconds)
    return _better_undecided(before, new, measure)


def _better_decided(before: Answer, new: Answer, measure: str) -> Answer:
    _require_agreement(before, new, measure)
    _require_agreement(new, before, measure)
    keeps_proof = _has_certificate(before)
    if before.layout is not None and new.layout is not None:
        fewer = new.layout.part_count < before.layout.part_count
        if fewer and (_has_certificate(new) or not keeps_proof):
            return new
    if _has_certificate(new) and not keeps_proof:
        # The claim and its proof go together; the layout with fewer parts was the one before.
        return new if before.layout is None else replace(new, layout=_fewer(before, new))
    return before


def _fewer(first: Answer, second: Answer) -> Layout | None:
    layouts = [answer.layout for answer in (first, second) if answer.layout is not None]
    return min(layouts, key=lambda layout: layout.part_count, default=None)


def _has_certificate(answer: Answer) -> bool:
    return answer.proof is not None and not answer.proof.endswith("no proof kept")


def _require_agreement(decided: Answer, other: Answer, measure: str) -> None:
    if other.layout is None:
        if other.proven and decided.status is not other.status:
            raise Contradiction("one answer says found and another impossible")
        return
    if decided.status is Status.IMPOSSIBLE:
        raise Contradiction("one answer says impossible and another has a layout")
    smallest, value = _value(decided, measure), _value(other, measure)
    if smallest is not None and value is not None and value < smallest:
        raise Contradiction(f"a layout of {measure} {value} where {smallest} is proven smallest")


def _value(answer: Answer, measure: str) -> int | None:
    return None if answer.layout is None else measured(answer.layout, answer.delay, measure)


def _better_undecided(before: Answer, new: Answer, measure: str) -> Answer:
    def rank(answer: Answer) -> tuple[bool, int, int]:
        if answer.layout is None:
            return (True, 0, 0)
        return (False, _value(answer, measure) or 0, answer.layout.part_count)

    best = min((before, new), key=rank)
    bounds = [answer.bound for answer in (before, new) if answer.bound is not None]
    bound = max(bounds, default=None)
    says_more = best is new and rank(new) != rank(before)
    told = new if says_more or bound != before.bound else before
    return replace(
        told,
        layout=best.layout,
        delay=best.delay,
        bound=bound,
        seconds=before.seconds + new.seconds,
    )
