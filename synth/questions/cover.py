"""What a claim needs: the questions whose "no layout" together leave nothing smaller.

Worked out from the meaning of the claim alone, not from the walk that was made: a certificate is
complete if every need is covered by a question that was answered with no.

A layout comes before the one found if, at the first measure in which they differ, it has less. For
each box that is: some box of the limits, up to some delay, up to some number of parts. Two facts
cover many needs with one answer:

- a layout that meets T meets every later tick (section 5: what is known stays known), and one with
  at most n parts has at most n + 1: "no" at T and n covers every earlier tick and fewer parts;
- the medium has no preferred level direction (section 1), so if nothing asked tells x from y, a
  layout turned by a quarter answers the same question in the box with its sides exchanged.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from itertools import product
from typing import NamedTuple

from synth.layout.layout import show_size
from synth.medium import AXES, LEVEL_DIRECTIONS, Rules, Size
from synth.questions.measures import Candidate
from synth.spec import Spec


class Need(NamedTuple):
    """That no layout exists in a box of ``size`` within ``delay`` ticks and ``parts`` parts.

    ``parts`` None stands for any number.
    """

    size: Size
    delay: int
    parts: int | None

    def __str__(self) -> str:
        most = "" if self.parts is None else f", at most {self.parts} parts"
        return f"{show_size(self.size)}, delay at most {self.delay}{most}"


@dataclass(frozen=True)
class Claim:
    """What is claimed of a specification.

    Attributes:
        status: ``found``, ``impossible`` or ``undecided``.
        spec: the specification; its limits on all three sizes and on the delay are given.
        measures: the measures in order of importance.
        rules: the rule table.
        values: each measure of the layout found; empty without one.
    """

    status: str
    spec: Spec
    measures: tuple[str, ...]
    rules: Rules
    values: Mapping[str, int]

    @property
    def sides_exchange(self) -> bool:
        """Whether nothing asked tells x from y: a layout turned by a quarter answers as well."""
        spec = self.spec
        pins_turn = all(
            ask.at is None and (ask.faces is None or set(ask.faces) == set(LEVEL_DIRECTIONS))
            for ask in spec.pins.values()
        )
        return (
            pins_turn
            and (spec.stack is None or spec.stack.axis == "z")
            and not (spec.empty or spec.fixed)
            and "length" not in self.measures
            and "width" not in self.measures
        )

    def text(self) -> str:
        """The claim in one sentence."""
        names = ("length", "width", "height", "volume", "floor", "parts", "delay")
        limits = ", ".join(
            f"{name} at most {value}"
            for name in names
            if (value := getattr(self.spec.limits, name)) is not None
        )
        if self.status == "impossible":
            return f"there is no layout under {limits}"
        if self.status == "undecided":
            return f"some boxes under {limits} have no layout; others are open"
        values = ", then ".join(f"{name} {self.values[name]}" for name in self.measures)
        return f"the layout is the smallest by {values}, under {limits}"


def covers(answer: Need, need: Need) -> bool:
    """Whether "no layout" to one question says the same of another."""
    fewer = answer.parts is None or (need.parts is not None and need.parts <= answer.parts)
    return answer.size == need.size and answer.delay >= need.delay and fewer


def needs(claim: Claim) -> list[Need]:
    """Everything that must have no layout for the claim to hold, the smallest box first.

    Nothing for an undecided search: it claims no more than what it lists.
    """
    if claim.status == "undecided":
        return []
    found = {need for size in _boxes(claim) for need in _needs_in(claim, size)}

    def order(need: Need) -> tuple[int, ...]:
        length, width, height = need.size
        most = -1 if need.parts is None else need.parts
        return (length * width * height, *need.size, need.delay, most)

    return sorted(found, key=order)


def _needs_in(claim: Claim, size: Size) -> Iterator[Need]:
    """What must have no layout in one box: all that comes before the layout found."""
    limits = claim.spec.limits
    assert limits.delay is not None
    delay, parts = limits.delay, limits.parts
    if claim.status == "impossible":
        yield Need(size, delay, parts)
        return
    # Layouts still level with the one found have the delay and parts of it, where compared.
    for name in claim.measures:
        value = claim.values[name]
        if name == "delay":
            if value > 0:
                yield Need(size, value - 1, parts)
            delay = value
        elif name == "parts":
            if value > 0:
                yield Need(size, delay, value - 1)
            parts = value
        else:
            here = Candidate(size, delay).measure(name)
            if here < value:
                yield Need(size, delay, parts)
            if here != value:
                return


def _boxes(claim: Claim) -> Iterator[Size]:
    """Every box under the limits that must be looked into."""
    spec, limits = claim.spec, claim.spec.limits
    assert limits.length is not None
    assert limits.width is not None
    assert limits.height is not None
    sides = (limits.length, limits.width, limits.height)
    # Cells named one by one stand in one box only (``Spec``).
    lowest = sides if spec.empty or spec.fixed else (1, 1, 1)
    spans = (range(low, high + 1) for low, high in zip(lowest, sides, strict=True))
    for length, width, height in product(*spans):
        size = (length, width, height)
        if limits.floor is not None and length * width > limits.floor:
            continue
        if limits.volume is not None and length * width * height > limits.volume:
            continue
        if claim.sides_exchange and length < width <= limits.length and length <= limits.width:
            # Its quarter turn, which stands in the list, says the same.
            continue
        if spec.stack is not None and spec.stack.pitch is not None:
            # Copies nearer than their own size would lie in each other.
            along = size[AXES.index(spec.stack.axis)]
            if along > spec.stack.pitch:
                continue
        yield size
