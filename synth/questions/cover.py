"""What a claim needs: the questions whose "no layout" together leave nothing smaller.

This is worked out from the meaning of the claim alone, not from the walk that was made. A
certificate is complete if every need is covered by a question that was answered with no.

A layout is better than the one found if it has less of the first measure in which they differ. For
each box within the limits this means: a layout up to some delay and up to some number of parts.
Three facts cover many needs with one answer:

- a layout that meets T meets every later tick (section 5: what is known stays known), and one with
  at most n parts has at most n + 1: so "no" at T and n covers every earlier tick and fewer parts;
- the medium has no preferred level direction (section 1): so if nothing in the question
  distinguishes x from y, a layout turned by a quarter answers the same question in the box with its
  sides exchanged;
- a taller box mostly holds what a lower one of the same length and width holds (``covers_lower``).
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from itertools import product

from synth.medium import AXES, LEVEL_DIRECTIONS, Size
from synth.questions.box import BoxQuestion
from synth.questions.in_force import limits_text, medium_text
from synth.questions.outcome import Status
from synth.questions.problem import Problem


@dataclass(frozen=True)
class Claim:
    """A claim about a problem.

    Attributes:
        status: found, impossible or undecided.
        problem: what was asked, with the limits in force, the measures and the rules.
        values: the measures of the layout found; empty if there is none.
    """

    status: Status
    problem: Problem
    values: Mapping[str, int]

    @property
    def sides_exchange(self) -> bool:
        """Whether nothing asked tells x from y: a layout turned by a quarter answers as well."""
        spec = self.problem.spec
        pins_turn = all(
            ask.at is None and (ask.faces is None or set(ask.faces) == set(LEVEL_DIRECTIONS))
            for ask in spec.pins.values()
        )
        return (
            pins_turn
            and (spec.stack is None or spec.stack.axis == "z")
            and not (spec.empty or spec.fixed)
            and "length" not in self.problem.measures
            and "width" not in self.problem.measures
        )

    def text(self) -> str:
        """The claim in one sentence, with everything that was in force."""
        limits, medium = limits_text(self.problem), medium_text(self.problem)
        return f"{self._claimed(limits)}; {medium}"

    def text_with_sizes_only(self) -> str:
        """The sentence of earlier certificates: of the limits, numbers alone."""
        names = ("length", "width", "height", "volume", "floor", "parts", "delay")
        limits = ", ".join(
            f"{name} at most {value}"
            for name in names
            if (value := getattr(self.problem.spec.limits, name)) is not None
        )
        return self._claimed(limits)

    def _claimed(self, limits: str) -> str:
        if self.status is Status.IMPOSSIBLE:
            return f"there is no layout under {limits}"
        if self.status is Status.UNDECIDED:
            return f"some boxes under {limits} have no layout; others are open"
        values = ", then ".join(f"{name} {self.values[name]}" for name in self.problem.measures)
        return f"the layout is the smallest by {values}, under {limits}"


def needs(claim: Claim) -> list[BoxQuestion]:
    """Every question that must have no layout for the claim to hold, the smallest box first.

    An undecided search needs none: it claims no more than the boxes that it lists.
    """
    if claim.status is Status.UNDECIDED:
        return []
    found = {need for size in _boxes(claim) for need in _needs_in(claim, size)}
    return sorted(found, key=lambda need: need.order)


def _needs_in(claim: Claim, size: Size) -> Iterator[BoxQuestion]:
    """What must have no layout in one box: everything better than the layout found."""
    limits = claim.problem.spec.limits
    assert limits.delay is not None
    delay, parts = limits.delay, limits.parts
    if claim.status is Status.IMPOSSIBLE:
        yield BoxQuestion(size, delay, parts)
        return
    # Layouts that still equal the one found have its delay and parts, if these were compared.
    for name in claim.problem.measures:
        value = claim.values[name]
        if name == "delay":
            if value > 0:
                yield BoxQuestion(size, value - 1, parts)
            delay = value
        elif name == "parts":
            if value > 0:
                yield BoxQuestion(size, delay, value - 1)
            parts = value
        else:
            here = BoxQuestion(size, delay).measure(name)
            if here < value:
                yield BoxQuestion(size, delay, parts)
            if here != value:
                return


def _boxes(claim: Claim) -> Iterator[Size]:
    """Every box within the limits that has to be considered."""
    spec, limits = claim.problem.spec, claim.problem.spec.limits
    assert limits.length is not None
    assert limits.width is not None
    assert limits.height is not None
    sides = (limits.length, limits.width, limits.height)
    # If the specification names cells, there is only one box (``Spec``).
    lowest = sides if spec.empty or spec.fixed else (1, 1, 1)
    spans = (range(low, high + 1) for low, high in zip(lowest, sides, strict=True))
    for length, width, height in product(*spans):
        size = (length, width, height)
        if limits.floor is not None and length * width > limits.floor:
            continue
        if limits.volume is not None and length * width * height > limits.volume:
            continue
        if claim.sides_exchange and length < width <= limits.length and length <= limits.width:
            # Its quarter turn, which is in the list, says the same.
            continue
        if spec.stack is not None and spec.stack.pitch is not None:
            # Copies nearer than their own size would overlap.
            along = size[AXES.index(spec.stack.axis)]
            if along > spec.stack.pitch:
                continue
        yield size


def covers(problem: Problem, answer: BoxQuestion, need: BoxQuestion) -> bool:
    """Whether "no layout" to one question about a problem says the same of another.

    It does for earlier ticks and fewer parts (``BoxQuestion.covers``), and in lower boxes too where
    ``covers_lower`` says so.
    """
    return answers_for(answer, need, lower_too=covers_lower(problem))


def answers_for(answer: BoxQuestion, need: BoxQuestion, *, lower_too: bool) -> bool:
    """``covers`` where it is known already whether a box answers for lower ones."""
    height = answer.size[2]
    if lower_too and need.size[2] < height:
        need = need._replace(size=(*need.size[:2], height))
    return answer.covers(need)


def covers_lower(problem: Problem) -> bool:
    """Whether "no layout" in a box implies it for every lower box of the same length and width.

    It does unless the layout stacks along z or the specification names cells. Take a layout that
    answers the question in the lower box, and count the empty cells above it as part of the box.
    Every part stays where it was, and those cells were empty before: pins are on level faces
    (section 6), so what stands outside them is beside the box and not above it, and so are copies
    along x or y (section 7), whose pitch is a length or width; ground is below (section 8), and
    heights are counted from there. So sections 3 to 5 apply as before. What is said about the box
    itself also holds as before: a host is still inside it, a pin's cell is still at the same edge,
    and heights and distances of pins, length, width, delay and parts are the same. The volume
    grows, but it is not part of a question about a box.

    Along z this fails: an open pitch is the height, and copies would move apart. If the
    specification names cells, there is only one box.
    """
    spec = problem.spec
    return (spec.stack is None or spec.stack.axis != "z") and not (spec.empty or spec.fixed)
