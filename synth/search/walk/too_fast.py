"""Says and counts which delays no layout meets, whatever its size (``synth.bounds``)."""

from __future__ import annotations

from collections.abc import Iterable

from synth.bounds import NO_BOUND, DelayBound
from synth.questions.box import BoxQuestion
from synth.search.walk.claims import Claims
from synth.search.walk.ledger import Ledger


def too_fast(ledger: Ledger, candidates: Iterable[BoxQuestion]) -> int:
    """How many questions allow less than the least delay; they are never asked."""
    return sum(map(ledger.is_too_fast, candidates))


def relied_on(ledger: Ledger, candidates: Iterable[BoxQuestion]) -> DelayBound:
    """The least delay, with its reason, if it rules out any of these questions."""
    return ledger.least_delay if any(map(ledger.is_too_fast, candidates)) else NO_BOUND


class ClaimsWithDelay(Claims):
    """Claims that also rest on the least delay, if it rules out any candidate."""

    def _shown(self, count: int) -> str:
        reason = relied_on(self.ledger, self.candidates).reason
        shown = super()._shown(count)
        if not reason:
            return shown
        return f"{reason}; {shown}" if count else reason
