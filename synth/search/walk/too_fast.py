"""What is said and counted of delays that no layout meets, whatever its size (``synth.bounds``)."""

from __future__ import annotations

from collections.abc import Iterable

from synth.bounds import NO_BOUND, DelayBound
from synth.questions.box import BoxQuestion
from synth.search.walk.claims import Claims
from synth.search.walk.ledger import Ledger


def too_fast(ledger: Ledger, candidates: Iterable[BoxQuestion]) -> int:
    """How many of some questions ask for less than the least delay; nobody is asked about them."""
    return sum(map(ledger.is_too_fast, candidates))


def relied_on(ledger: Ledger, candidates: Iterable[BoxQuestion]) -> DelayBound:
    """The least delay, if it rules out any of some questions."""
    return ledger.least_delay if any(map(ledger.is_too_fast, candidates)) else NO_BOUND


class ClaimsWithDelay(Claims):
    """Claims that also rest on the least delay, where it rules out any candidate."""

    def _shown(self, count: int) -> str:
        reason = relied_on(self.ledger, self.candidates).reason
        shown = super()._shown(count)
        if not reason:
            return shown
        return f"{reason}; {shown}" if count else reason
