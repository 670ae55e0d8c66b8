"""The audit of the least delay: worked out anew from the truth table of the specification."""

from __future__ import annotations

from synth.bounds import NO_BOUND, least_delay
from synth.proofs.certificate_index import LEAST_DELAY, SPEC, Index
from synth.questions.box import BoxQuestion
from synth.spec import BooleanFunction


def wrong_delay(index: Index, function: BooleanFunction) -> str | None:
    """What is wrong with the least delay of an index; None if it is right or not claimed."""
    said = index.least_delay
    if said == NO_BOUND:
        return None
    own = least_delay(function)
    if said.ticks > own.ticks:
        return (
            f"it says that no layout meets fewer than {said.ticks} ticks; by the truth table of "
            f"{SPEC} the bound is {own.ticks}"
        )
    return None if said == own else f"its least delay, or the reason of it, is not that of {SPEC}"


def wrong_need(index: Index, need: BoxQuestion) -> str | None:
    """Why the least delay does not show that a need has no layout; None if it does."""
    shows = need.delay < index.least_delay.ticks
    return None if shows else f"the least delay says nothing of {need}"


def certain_delay(index: Index) -> list[str]:
    """What is certain about the delay, one sentence each."""
    if index.least_delay == NO_BOUND:
        return []
    boxes = [stem for _, stem in index.boxes].count(LEAST_DELAY)
    needed = f"; {boxes} of the boxes rest on it" if boxes else ""
    return [f"{index.least_delay.reason} (worked out anew from the truth table{needed})."]


def delay_rests_on(index: Index) -> list[str]:
    """What that rests on, one sentence each."""
    if index.least_delay == NO_BOUND:
        return []
    return [
        "That the truth table bounds the delay of every layout: an argument from the rules of the "
        "medium (synth/bounds/delay.py); the tests of gatefit hold it against every layout "
        "of tiny boxes."
    ]
