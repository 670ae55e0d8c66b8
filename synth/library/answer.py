"""An answer as the store keeps it, and how two answers to one question become one."""

from __future__ import annotations

from dataclasses import dataclass, replace

from synth.layout import Layout
from synth.library.canonical import Naming
from synth.library.proofs import Reference, no_proof
from synth.questions.measures import keeps, measured
from synth.questions.outcome import Outcome, Status
from synth.spec import Limits
from synth.versions import VERSION


class Contradiction(Exception):
    """Two answers that cannot both be right."""


@dataclass(frozen=True)
class Answer:
    """What is known of a question, in canonical names.

    Attributes:
        status: found, impossible or undecided.
        proven: whether the answer is final: the smallest, or impossible.
        layout: the layout found, or the best so far of an undecided search.
        delay: the delay that the layout meets, in ticks.
        bound: for an undecided search, the least value of the first measure not ruled out.
        claim: what is claimed, or why the search is undecided.
        proof: what the claim rests on.
        solver, seed: how it was searched.
        seconds: the time spent on it in all.
        version, made: the version of gatefit and the day (empty: the day it is stored).
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
    version: str = VERSION
    made: str = ""

    @staticmethod
    def of(outcome: Outcome, naming: Naming, proof: str | None = None) -> Answer:
        """The answer in the outcome of a search."""
        decided = outcome.status in (Status.FOUND, Status.IMPOSSIBLE)
        stats = outcome.stats
        solver = stats.solver
        return Answer(
            status=outcome.status,
            proven=decided,
            layout=None if outcome.layout is None else naming.to_canonical(outcome.layout),
            delay=None if outcome.verdict is None else outcome.verdict.delay,
            bound=None if decided else stats.bound,
            claim=outcome.claim or outcome.reason,
            proof=(proof or no_proof(solver)) if decided else None,
            solver=solver,
            seed=stats.seed,
            seconds=stats.seconds,
        )

    def within(self, limits: Limits) -> Answer:
        """The same without its layout, if that does not keep the limits of the question.

        Limits that were only assumed do not bind a search from above, so its best layout may be
        larger or slower.
        """
        if self.layout is None or keeps(self.layout, self.delay, limits):
            return self
        return replace(self, layout=None, delay=None)


def better_of(before: Answer, new: Answer, minimize: tuple[str, ...]) -> Answer:
    """What is known after a second answer to the same question.

    - A decided answer stays decided. A second decided answer replaces it only if it has a
      certificate where the first had none, or else if its layout has fewer parts (the measures
      asked for are the same).
    - Of two undecided answers the better layout and the higher bound are kept; seconds add up.

    Raises:
        Contradiction: if one says found and the other impossible, or if a layout or bound of one
            contradicts what the other says is the smallest.
    """
    if before.proven and new.proven:
        return _better_decided(before, new, minimize)
    if before.proven or new.proven:
        decided, other = (before, new) if before.proven else (new, before)
        _require_agreement(decided, other, minimize)
        if decided is before:
            return before
        return replace(decided, seconds=before.seconds + new.seconds)
    return _better_undecided(before, new, minimize)


def _better_decided(before: Answer, new: Answer, minimize: tuple[str, ...]) -> Answer:
    _require_agreement(before, new, minimize)
    _require_agreement(new, before, minimize)
    # A claim, its layout and its certificate stay together: a certificate is about one layout.
    return min((before, new), key=lambda answer: (not _has_certificate(answer), _parts(answer)))


def _parts(answer: Answer) -> int:
    return 0 if answer.layout is None else answer.layout.part_count


def _has_certificate(answer: Answer) -> bool:
    return Reference.read(answer.proof) is not None


def _require_agreement(decided: Answer, other: Answer, minimize: tuple[str, ...]) -> None:
    if other.proven and decided.status is not other.status:
        raise Contradiction("one answer says found and another impossible")
    if decided.status is Status.IMPOSSIBLE:
        if other.layout is not None:
            raise Contradiction("one answer says impossible and another has a layout")
        return
    smallest = _values(decided, minimize)
    if other.layout is not None and _values(other, minimize) < smallest:
        found = ", ".join(map(str, _values(other, minimize)))
        claimed = ", ".join(map(str, smallest))
        raise Contradiction(
            f"a layout of {', '.join(minimize)} {found} where {claimed} is claimed to be smallest"
        )
    if other.bound is not None and other.bound > smallest[0]:
        raise Contradiction(
            f"a bound of {minimize[0]} {other.bound} and a layout of {minimize[0]} {smallest[0]}"
        )


def _values(answer: Answer, minimize: tuple[str, ...]) -> tuple[int, ...]:
    """The measures asked for, in order, of the layout of an answer."""
    assert answer.layout is not None
    values = (measured(answer.layout, answer.delay, measure) for measure in minimize)
    return tuple(0 if value is None else value for value in values)


def _better_undecided(before: Answer, new: Answer, minimize: tuple[str, ...]) -> Answer:
    def rank(answer: Answer) -> tuple[bool, tuple[int, ...], int]:
        if answer.layout is None:
            return (True, (), 0)
        return (False, _values(answer, minimize), _parts(answer))

    best = min((before, new), key=rank)
    bounds = [answer.bound for answer in (before, new) if answer.bound is not None]
    bound = max(bounds, default=None)
    if bound is not None and best.layout is not None and bound > _values(best, minimize)[0]:
        raise Contradiction(
            f"a bound of {minimize[0]} {bound} and a layout of {_values(best, minimize)[0]}"
        )
    # The reason kept is that of the answer which knew more.
    told = new if rank(new) < rank(before) or bound != before.bound else before
    return replace(
        told,
        layout=best.layout,
        delay=best.delay,
        bound=bound,
        seconds=before.seconds + new.seconds,
    )
